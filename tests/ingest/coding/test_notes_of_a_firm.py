"""Notes on the way into the records: what is kept of them, when they are read again, what of them goes on."""

from typing import Any

import duckdb
import pytest

from pipeline.errors import UserError

CALLBACKS = """
callback_id,install_id,reported_on,fault,note,responsibility
C1,D1,2025-03-01,,puddle on the floor under the sill after the storm,
C2,D1,2025-04-01,binding,handle floppy and came off,product
C3,D2,2025-05-01,,please look again,
C4,D2,2025-06-01,,football broke the outer pane,
C5,D2,2025-07-01,,,
"""
CODES = "SELECT callback_id, fault FROM note_codes ORDER BY ALL"


@pytest.fixture
def noted(firm: Any) -> Any:
    firm.write("callbacks.csv", CALLBACKS)
    firm.take_in()
    return firm


def _prints(firm: Any) -> set[tuple[Any, ...]]:
    return set(firm.ask("SELECT callback_id, print FROM notes_read"))


def test_notes_give_faults_and_who_answers_or_nothing(noted):
    assert noted.ask(CODES) == [
        ("C1", "water_ingress"), ("C2", "handle_fault"), ("C4", "broken_glass"), ("C4", "user_damage"),
    ]  # fmt: skip
    assert noted.ask("SELECT callback_id, responsibility FROM note_responsibility") == [("C4", "use")]
    assert all(0.5 < chance <= 1 for (chance,) in noted.ask("SELECT confidence FROM note_codes"))


def test_no_word_of_a_note_reaches_the_records(noted):
    assert b"puddle" not in (noted.out / "records.duckdb").read_bytes()


def test_a_note_whose_words_did_not_change_is_not_read_again(noted, monkeypatch):
    before, codes = _prints(noted), noted.ask(CODES)
    monkeypatch.setattr("pipeline.ingest.coding.coded._NoteReader", None)  # reading would fail
    noted.write("callbacks.csv", CALLBACKS.replace("D2,2025-05-01", "D2,2025-05-02"))
    noted.take_in()
    assert (_prints(noted), noted.ask(CODES)) == (before, codes)
    noted.write("callbacks.csv", CALLBACKS.replace("puddle on", "puddles on"))
    with pytest.raises(TypeError):
        noted.take_in()


def test_a_changed_note_is_read_anew_and_what_it_said_before_is_gone(noted):
    noted.write("callbacks.csv", CALLBACKS.replace("please look again", "gasket torn and hanging out"))
    noted.take_in()
    assert ("C3", "seal_fault") in noted.ask(CODES)
    noted.write("callbacks.csv", CALLBACKS)
    noted.take_in()
    assert "C3" not in {callback for callback, _ in noted.ask(CODES)}


def test_an_erased_note_leaves_what_was_read_of_it(noted):
    before = noted.ask(CODES)
    with duckdb.connect(str(noted.out / "people.duckdb")) as connection:
        connection.execute("UPDATE callback_rows SET note = NULL WHERE callback_id = 'C4'")
    noted.take_in()
    assert noted.ask(CODES) == before


def test_a_callback_that_is_not_current_any_more_leaves_nothing(noted):
    noted.write("callbacks.csv", CALLBACKS.replace("C4,D2,2025-06-01", "C4,D2,2035-06-01"))
    noted.take_in()
    assert "C4" not in {callback for callback, _ in noted.ask(CODES)}


def test_a_stop_while_notes_are_read_is_mended_by_the_next_run(noted, monkeypatch):
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    expected = noted.ask(CODES)
    with monkeypatch.context() as patched:
        patched.setattr("pipeline.ingest.coding.coded._keep", stop)
        noted.write("callbacks.csv", CALLBACKS.replace("floppy", "very floppy"))
        with pytest.raises(KeyboardInterrupt):
            noted.take_in()
    noted.take_in()
    assert noted.ask(CODES) == expected


def test_a_firms_own_words_and_faults_are_read(firm):
    firm.write("callbacks.csv", "callback_id,install_id,reported_on,note\nC1,D1,2025-03-01,zorp by the post\n"
               "C2,D1,2025-04-01,flim smashed\nC3,D1,2025-05-01,no zorp\n")  # fmt: skip
    firm.write("fitback.toml", """
        [[fault]]
        name = "vent_fault"
        [[note_word]]
        says = "zorp"
        fault = "vent_fault"
        [[note_word]]
        says = "flim"
        means = "glass pane"
    """)  # fmt: skip
    firm.take_in()
    assert firm.ask("SELECT * FROM note_codes WHERE callback_id <> 'C2' ORDER BY ALL") == [("C1", "vent_fault", 0.9)]
    assert ("C2", "broken_glass") in firm.ask(CODES)


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        ('says = "prp"', "say either what it means or which fault"),
        ('says = "prp"\nmeans = "a"\nfault = "binding"', "say either what it means or which fault"),
        ('says = "prp"\nfault = "bindng"', "fault 'bindng' is not known; did you mean binding"),
        ('says = "prp"\nfalt = "binding"', "'falt' is not a key of a note_word"),
        ('fault = "binding"', "'says' is missing"),
        ('says = "+/-"\nfault = "binding"', "says must hold a letter"),
    ],
)
def test_a_word_that_cannot_be_used_is_refused_in_one_sentence(firm, table, sentence):
    firm.write("fitback.toml", f"[[note_word]]\n{table}\n")
    with pytest.raises(UserError, match=r"fitback\.toml") as refused:
        firm.take_in()
    assert sentence in str(refused.value)


def test_keyed_notes_of_the_firm_are_learnt_from(firm):
    lines = [f"K{n},D1,2025-03-{n % 27 + 1:02},hinge_fault,glorp worn number {'abcdefghij'[n % 10]}" for n in range(30)]
    text = "callback_id,install_id,reported_on,fault,note\n" + "\n".join([*lines, "C1,D1,2025-05-01,,glorp worn"])
    firm.write("callbacks.csv", text)
    firm.take_in()
    assert firm.ask("SELECT fault FROM note_codes WHERE callback_id = 'C1'") == [("hinge_fault",)]
