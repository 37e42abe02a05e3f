"""A door's check sheet whose labels end with a colon, with units beside its readings. All invented."""

from tests.ingest.matching.test_match import day, matched, write_sheets

CREWS = ("Dai & Glyn", "Owain", "Dai & Glyn")


def form(number):
    return [
        ["DOOR QUALITY CHECK"],
        [],
        ["Plot:", f"P{number}", None, "Fitters:", CREWS[number - 1]],
        ["Date:", day(number), None, "Order:", f"SO-{880 + number}"],
        ["Opening W x H:", f"{3000 + number} x 2110", None, "Config:", f"{number}L"],
        [],
        ["SECTION A"],
        ["Sill level left", number, "mm"],
        ["Sill level right", 0, "mm"],
        ["LH jamb plumb (in/out)", "2 out" if number % 2 else "1 out", "mm"],
        ["RH jamb plumb (in/out)", 0, "mm"],
        ["Head deflection", number, "mm"],
        [],
        ["SECTION B", "Y/N", "Initials"],
        ["Glass toe & heeled", "Y", "DG"],
        ["Drainage slots clear", "N" if number == 2 else "Y", "DG"],
    ]


def take(firm):
    write_sheets(firm.folder / "site sheets.xlsx", {f"Plot {number}": form(number) for number in (1, 2, 3)})
    one = matched(firm, "site sheets.xlsx")
    firm.take_in()
    return one


def test_what_answers_a_colon_is_a_value_and_no_label(empty_firm):
    one = take(empty_firm)
    assert len(one.proposals) == 1
    left = set(one.proposals[0].layout.evidence)
    assert not [path for path in left if "so-88" in path or "dai" in path or "x 2110 /" in path]
    assert empty_firm.ask("SELECT install_id, job_no, crew FROM installs ORDER BY 1") == [
        ("P1", "SO-881", "Dai & Glyn"), ("P2", "SO-882", "Owain"), ("P3", "SO-883", "Dai & Glyn"),
    ]  # fmt: skip


def test_a_number_with_its_way_is_no_label(empty_firm):
    """Whether out is a way is another matter, which a sheet settles that says in as well."""
    one = take(empty_firm)
    assert {"lh jamb plumb (in/out)", "rh jamb plumb (in/out)"} <= set(one.proposals[0].layout.evidence)
    assert not [path for path in one.proposals[0].layout.evidence if "2 out" in path or "1 out" in path]


def test_a_unit_is_neither_a_kind_of_door_nor_somebodys_initials(empty_firm):
    take(empty_firm)
    assert empty_firm.ask("SELECT DISTINCT product FROM installs") == [(None,)]
    assert empty_firm.ask('SELECT "check", outcome FROM checks ORDER BY install_id, 1') == [
        ("drainage_clear", "pass"), ("toe_and_heel", "pass"), ("drainage_clear", "fail"), ("toe_and_heel", "pass"),
        ("drainage_clear", "pass"), ("toe_and_heel", "pass"),
    ]  # fmt: skip
