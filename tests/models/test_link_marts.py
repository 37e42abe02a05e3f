"""The doubtful links and the match rate by crew."""

RECORDS = {
    "installs": """
        install_id | crew | job_no | fitted_on
        D1         | A    | J1     | 2024-01-11
        D2         | B    | J2     | 2024-01-21
        D3         | B    | J2     | 2024-03-31
    """,
    "callbacks": """
        callback_id | install_id | job_no
        C1          | D1         |
        C2          |            | J1
        C3          |            | J2
        C4          |            |
        C5          |            |
        C6          |            |
        C7          |            |
    """,
    "callback_matches": """
        callback_id | install_id | probability | site | site_doors | site_probability | is_reviewed
        C3          |            | 0.5         | D2   | 2          | 0.99             | false
        C4          | D3         | 0.93        | D2   | 2          | 0.99             | false
        C5          |            | 0.4         |      |            |                  | false
        C6          |            |             |      |            |                  | false
        C7          |            |             |      |            |                  | true
    """,
    "link_candidates": """
        callback_id | install_id | site | probability | why
        C3          | D2         | D2   | 0.5         | same address
        C3          | D3         | D2   | 0.49        | same address
        C4          | D3         | D2   | 0.93        | same address
        C5          | D1         | D1   | 0.4         | same surname
        C7          | D1         | D1   | 0.4         | same surname
    """,
}


def test_only_callbacks_without_a_door_that_nobody_decided_are_doubtful(run_model):
    result = run_model("doubtful_links", **RECORDS)
    assert result.pick("callback_id", "install_id") == [("C3", "D2"), ("C3", "D3"), ("C5", "D1")]


def test_every_callback_is_counted_once_for_a_crew_and_once_for_the_firm(run_model):
    result = run_model("link_rates", **RECORDS)
    counts = ("by_install_id", "by_job_no", "matched", "held_at_house", "doubtful", "unlinked")
    assert result.pick("crew", "callbacks", *counts) == [
        ("A", 3, 1, 1, 0, 0, 1, 0),
        ("B", 2, 0, 0, 1, 1, 0, 0),
        ("all", 7, 1, 1, 1, 1, 1, 2),
        ("none near", 2, 0, 0, 0, 0, 0, 2),
    ]
    assert result.pick("linked_share") == [2 / 3, 1 / 2, 3 / 7, 0.0]
