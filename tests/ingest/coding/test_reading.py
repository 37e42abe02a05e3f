"""What is read of a note: what is said now, denied, or told of an earlier visit. Common practice, no source."""

import pytest

from pipeline.catalogue.rows import NoteWord
from pipeline.ingest.coding.features import features_of
from pipeline.ingest.coding.lexicon import load_lexicon
from pipeline.ingest.coding.responsibility import Answers, confidences, named_in

LEXICON = load_lexicon()


def signs(note):
    return set(features_of(note, LEXICON).signs)


@pytest.mark.parametrize(
    ("note", "fault"),
    [
        ("leaf has dropped", "dropped_leaf"),
        ("lf drpd, t&h rtd", "dropped_leaf"),
        ("w/ingress at thr", "water_ingress"),
        ("rpl hng, pin rising", "hinge_fault"),
        ("no gasket fitted", "seal_fault"),
        ("clnd trk, grit", "dirty_track"),
        ("hinge worn and squeaks", "hinge_fault"),
    ],
)
def test_signs_are_found_in_plain_and_short_words(note, fault):
    assert fault in signs(note)


@pytest.mark.parametrize(
    ("note", "fault"),
    [
        ("no leak now", "water_ingress"),
        ("not dropped", "dropped_leaf"),
        ("the leaf is not dropped, lock fine", "dropped_leaf"),
        ("lock ok", "lock_misaligned"),
        ("dropped off the keys at the lock side", "lock_failed"),
        ("no draught felt", "draught"),
        ("leak fixed last visit, now dry", "water_ingress"),
        ("1st visit: leaf dropped, lifted. 2nd visit: handle loose", "dropped_leaf"),
        ("3/2 water on the floor. 9/5 handle loose", "water_ingress"),
    ],
)
def test_what_is_denied_cured_or_of_an_earlier_visit_is_no_sign(note, fault):
    assert fault not in signs(note)


def test_as_before_refers_to_nothing():
    assert signs("as before") <= {"unclear"}


def test_the_last_of_several_visits_is_read():
    assert "handle_fault" in signs("1st visit: leaf dropped, lifted. 2nd visit: handle loose")


def test_a_condition_is_said_of_the_part_named_last():
    assert "hinge_fault" in signs("checked hinge, and it is loose")
    assert "handle_fault" not in signs("handle good. hinge loose")


def test_a_firms_short_form_is_written_out():
    own = load_lexicon([NoteWord("zz/q", means="water ingress"), NoteWord("glorp", means="hinge")])
    assert "water_ingress" in features_of("zz/q at corner", own).signs
    assert "hinge_fault" in features_of("Glorp worn", own).signs


@pytest.mark.parametrize("says", ["b/o door", "Cyl jumps", "türe klemmt", "level 2 call", "the zorp"])
def test_a_firms_own_phrase_is_found_however_it_is_written(says):
    own = load_lexicon([NoteWord(says, fault="binding")])
    assert features_of(f"rang about {says.upper()} today", own).own == {"binding"}
    assert not features_of(f"no {says}", own).own


@pytest.mark.parametrize(
    ("note", "faults", "named"),
    [
        ("pane broken by a ball", ["broken_glass", "user_damage"], "use"),
        ("wheel worn out", ["roller_damage"], "wear"),
        ("nothing found", ["no_fault"], "none"),
        ("beam above has settled", ["frame_distorted"], "building"),
        ("manufacturing defect", ["bead_fault"], "product"),
        ("never packed by the fitters", ["frame_distorted"], "installation"),
        ("worn, manufacturing defect", ["roller_damage"], None),
        ("leaf dropped", ["dropped_leaf"], None),
        ("not worn", ["roller_damage"], None),
    ],
)
def test_who_answers_is_named_only_where_the_note_says_it(note, faults, named):
    assert named_in(features_of(note, LEXICON), faults, LEXICON) == named


def test_what_the_firm_keyed_moves_how_sure_a_named_responsibility_is():
    sure = confidences([("wear", "wear")] * 30 + [("product", "installation")] * 30 + [("use", "unknown")] * 5)
    assert sure["wear"] == pytest.approx(38 / 40)
    assert sure["product"] == pytest.approx(8 / 40)
    assert "use" not in sure
    answers = Answers(LEXICON, sure)
    assert answers.of(features_of("wheel worn out", LEXICON), []) == ("wear", pytest.approx(38 / 40))
    assert answers.of(features_of("manufacturing defect", LEXICON), []) is None
