"""Staging and linking: costs, leans, which door a callback belongs to and which faults it names."""


def test_a_door_starts_at_handover_and_else_at_fitting(run_model):
    result = run_model("staged_installs", installs="""
        install_id | fitted_on  | handed_over_on
        D1         | 2024-03-01 | 2024-03-05
        D2         | 2024-03-01 |
    """)  # fmt: skip
    assert [str(day) for day in result.pick("started_on")] == ["2024-03-05", "2024-03-01"]


def test_a_callback_costs_what_is_written_else_its_hours_else_the_usual_sum(run_model):
    result = run_model("staged_callbacks", settings="labour_rate | callback_cost\n 40 | 150", callbacks="""
        callback_id | hours | cost
        C1          | 2     | 99
        C2          | 2     |
        C3          |       |
    """)  # fmt: skip
    assert result.pick("cost") == [99.0, 80.0, 150.0]


def test_a_cost_that_nothing_tells_stays_empty(run_model):
    result = run_model("staged_callbacks", callbacks="callback_id | hours | cost\n C1 | 2 | ")
    assert result.pick("cost", "responsibility") == [(None, "unknown")]


def test_leans_of_one_member_share_one_implied_zero(run_model):
    result = run_model("staged_readings", readings="""
        install_id | measure   | member    | position_mm | value | written_value | written_unit
        D1         | jamb_face | left_jamb | 1000        | 1.5   | 1.5           | mm/m
        D1         | jamb_face | left_jamb | 2000        | 2.8   | 1.4           | mm/m
        D1         | jamb_edge | left_jamb | 2000        | 2.8   |               |
    """)  # fmt: skip
    places = sorted(result.pick("measure", "position_mm", "value"))
    assert places == [
        ("jamb_edge", 2000.0, 2.8),
        ("jamb_face", 0.0, 0.0),
        ("jamb_face", 1000.0, 1.5),
        ("jamb_face", 2000.0, 2.8),
    ]


def test_a_callback_is_linked_by_door_else_by_a_job_number_that_stands_on_one_door(run_model):
    result = run_model("linked_callbacks", installs="""
        install_id | job_no
        D1         | J1
        D2         | J2
        D3         | J2
    """, callbacks="""
        callback_id | install_id | job_no
        C1          | D3         | J1
        C2          |            | J1
        C3          |            | J2
        C4          |            |
    """)  # fmt: skip
    assert result.pick("callback_id", "install_id", "how", "probability") == [
        ("C1", "D3", "install_id", 1.0),
        ("C2", "D1", "job_no", 1.0),
        ("C3", None, "none", None),
        ("C4", None, "none", None),
    ]


def test_a_callback_is_linked_by_the_job_in_a_doors_number_that_has_no_other_door(run_model):
    result = run_model("linked_callbacks", installs="""
        install_id | job_no
        C4101/1    |
        C4102/1    |
        C4102/2    |
        4103-A     |
        FD-21      |
        4104/1     | J9
    """, callbacks="""
        callback_id | install_id | job_no
        B1          |            | C4101
        B2          |            | C4102
        B3          |            | 4103
        B4          |            | FD
        B5          |            | 4104
        B6          |            | J9
    """)  # fmt: skip
    assert result.pick("callback_id", "install_id") == [
        ("B1", "C4101/1"),
        ("B2", None),
        ("B3", "4103-A"),
        ("B4", None),
        ("B5", None),
        ("B6", "4104/1"),
    ]


def test_a_matched_door_carries_its_chance_and_an_undecided_house_no_door(run_model):
    result = run_model("linked_callbacks", installs="""
        install_id | job_no
        D1         | J1
        D2         | 0042
    """, callbacks="""
        callback_id | install_id | job_no
        C1          |            | J1
        C2          |            |
        C3          |            | 42
        C4          | D1         |
    """, job_numbers="""
        job_no | job_key
        0042   | 42
        42     | 42
    """, callback_matches="""
        callback_id | install_id | probability | site | site_doors | site_probability | is_reviewed
        C1          | D2         | 0.97        | D2   | 1          | 0.97             | false
        C2          |            | 0.5         | D1   | 2          | 0.99             | false
        C4          | D2         | 0.99        | D2   | 1          | 0.99             | false
    """)  # fmt: skip
    assert result == [
        ("C1", "D2", "matched", 0.97, None, None, None, False),
        ("C2", None, "none", None, "D1", 2, 0.99, False),
        ("C3", "D2", "job_no", 1.0, None, None, None, False),
        ("C4", "D1", "install_id", 1.0, None, None, None, False),
    ]


def test_several_fault_codes_in_one_cell_become_one_row_each(run_model):
    result = run_model("coded_callbacks", callbacks="""
        callback_id | fault
        C1          | binding; draught;binding;
        C2          |
    """)  # fmt: skip
    assert result == [
        ("C1", "binding", "keyed", 1.0),
        ("C1", "draught", "keyed", 1.0),
        ("C2", "unclear", "note", 0.0),
    ]


def test_a_crew_called_all_is_not_taken_for_the_firm(run_model):
    result = run_model("staged_installs", installs="""
        install_id | crew | fitted_on
        D1         | all  | 2024-03-01
        D2         | Red  | 2024-03-01
    """)  # fmt: skip
    assert result.pick("crew") == ["crew all", "Red"]


def test_a_note_gives_faults_where_none_are_keyed(run_model):
    result = run_model("coded_callbacks", callbacks="""
        callback_id | fault
        C1          | binding
        C2          |
        C3          |
    """, note_codes="""
        callback_id | fault        | confidence
        C1          | dropped_leaf | 0.95
        C2          | draught      | 0.91
        C2          | noise        | 0.88
        C9          | noise        | 0.88
    """)  # fmt: skip
    assert result == [
        ("C1", "binding", "keyed", 1.0),
        ("C2", "draught", "note", 0.91),
        ("C2", "noise", "note", 0.88),
        ("C3", "unclear", "note", 0.0),
    ]


def test_who_answers_is_as_keyed_else_as_noted_else_unknown(run_model):
    result = run_model("staged_callbacks", callbacks="""
        callback_id | responsibility
        C1          | product
        C2          |
        C3          |
    """, note_responsibility="""
        callback_id | responsibility | confidence
        C1          | use            | 0.8
        C2          | use            | 0.8
    """)  # fmt: skip
    assert result.pick("callback_id", "responsibility", "responsibility_how") == [
        ("C1", "product", "keyed"), ("C2", "use", "note"), ("C3", "unknown", "none"),
    ]  # fmt: skip


def test_notes_sure_of_other_faults_than_keyed_are_listed(run_model):
    result = run_model("note_disagreements", callbacks="""
        callback_id | fault
        C1          | binding;noise
        C2          | binding
        C3          | unclear
        C4          |
    """, note_codes="""
        callback_id | fault   | confidence
        C1          | noise   | 0.9
        C1          | draught | 0.9
        C2          | draught | 0.92
        C3          | draught | 0.9
        C4          | draught | 0.9
    """)  # fmt: skip
    assert result == [("C2", "binding", "draught", 0.92)]


def test_readings_that_only_say_ok_are_no_numbers_and_are_counted_apart(run_model):
    given = {
        "installs": """
            install_id | crew | fitted_on  | handed_over_on
            D1         | A    | 2024-01-10 | 2024-01-12
        """,
        "readings": """
            install_id | measure     | member | station | value | unit | read_on    | written_unit
            D1         | sill_height | sill   | left    | 3.0   | mm   | 2024-01-10 |
            D1         | sill_height | sill   | right   |       | mm   | 2024-01-10 | ok
            D1         | head_gap    | leaf_1 | lock    |       | mm   |            | ok
            D1         | head_gap    | leaf_1 | hinge   |       | mm   | 2024-03-01 | ok
        """,
    }
    only = {"readings": given["readings"]}
    assert run_model("staged_readings", **only).pick("station", "value") == [("left", 3.0)]
    counted = run_model("ok_readings", **given).pick("measure", "member", "readings")
    assert counted == [("head_gap", "leaf_1", 1), ("sill_height", "sill", 1)]  # one is of a day after handover
