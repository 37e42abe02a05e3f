"""Keeps in records.duckdb what the notes of current callbacks say: faults and who answers, never the notes.

Takes the notes from people.duckdb. A note is read again only when it or the learning changed. A callback whose note
was erased keeps what was read of it: the door's figures stay true.
"""

import csv
import hashlib
from functools import lru_cache
from importlib.metadata import version
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.catalogue.rows import NoteWord
from pipeline.ingest.coding.lexicon import Lexicon, load_lexicon
from pipeline.ingest.coding.model import UNCLEAR, Example, NoteModel, answers
from pipeline.ingest.coding.responsibility import Answers, confidences, named_in
from pipeline.ingest.history.store import ERASED, one_row, with_frame

if TYPE_CHECKING:
    import duckdb

# How many of the firm's own keyed notes are learnt from, and how much each counts: one code often stands for several.
MOST_OWN_EXAMPLES = 1_500
OWN_WEIGHT = 0.5
_CHUNK = 5_000

_LAYOUT = """
    CREATE TABLE IF NOT EXISTS notes_read (
        load INTEGER, "row" BIGINT, callback_id TEXT, print TEXT, responsibility TEXT, confidence DOUBLE);
    CREATE TABLE IF NOT EXISTS note_state (base TEXT);
    CREATE TABLE IF NOT EXISTS note_faults (load INTEGER, "row" BIGINT, fault TEXT, confidence DOUBLE);
    CREATE VIEW IF NOT EXISTS note_codes AS
        SELECT r.callback_id, f.fault, f.confidence FROM notes_read AS r JOIN note_faults AS f USING (load, "row");
    CREATE VIEW IF NOT EXISTS note_responsibility AS
        SELECT callback_id, responsibility, confidence FROM notes_read WHERE responsibility IS NOT NULL;
"""
_NOTED = f"""
    SELECT p.load, p."row", p.callback_id, trim(p.note) AS note, c.fault, c.responsibility
    FROM people.callback_rows AS p JOIN callbacks AS c ON c.callback_id = p.callback_id
    WHERE p.is_current AND trim(coalesce(p.note, '')) <> '' AND NOT starts_with(p.note, '{ERASED}')
"""
# A delivery of the same callback anew takes over what was read of its note before that was erased.
_CARRIED = f"""
    CREATE OR REPLACE TEMP TABLE carried AS
    SELECT p.load, p."row", r.callback_id, r.load AS old_load, r."row" AS old_row, r.responsibility, r.confidence
    FROM people.callback_rows AS p
    JOIN (SELECT DISTINCT ON (callback_id) * FROM notes_read ORDER BY callback_id, load DESC, "row") AS r
        ON r.callback_id = p.callback_id
    ANTI JOIN notes_read AS known ON known.load = p.load AND known."row" = p."row"
    WHERE p.is_current AND starts_with(p.note, '{ERASED}');
    INSERT INTO notes_read SELECT load, "row", callback_id, '', responsibility, confidence FROM carried;
    INSERT INTO note_faults SELECT c.load, c."row", f.fault, f.confidence
    FROM carried AS c JOIN note_faults AS f ON f.load = c.old_load AND f."row" = c.old_row;
    DROP TABLE temp.carried;
"""
_CURRENT = 'SELECT 1 FROM people.callback_rows AS p WHERE p.is_current AND p.load = t.load AND p."row" = t."row"'


def code_notes(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue) -> None:
    """Brings what is kept of the notes up to date with the current callbacks. All of it or, if stopped, none."""
    connection.execute("BEGIN")
    connection.execute(_LAYOUT)
    connection.execute(f"CREATE OR REPLACE TEMP TABLE noted AS {_NOTED}")
    if one_row(connection, "SELECT count(*) FROM noted")[0]:
        _code(connection, catalogue)
    connection.execute(_CARRIED)
    for table in ("notes_read", "note_faults"):
        connection.execute(f"DELETE FROM {table} AS t WHERE NOT EXISTS ({_CURRENT})")
    connection.execute("DROP TABLE temp.noted")
    connection.execute("COMMIT")


def learning_of(connection: "duckdb.DuckDBPyConnection") -> str:
    """What the notes as they stand now are read with; empty where none has been read."""
    connection.execute(_LAYOUT)
    base = connection.execute("SELECT base FROM note_state").fetchall()
    if not base:
        return ""
    connection.execute(f"CREATE OR REPLACE TEMP TABLE noted AS {_NOTED}")
    return _learning(base[0][0], _own_examples(connection), _own_answers(connection))


def keep_as_read(connection: "duckdb.DuckDBPyConnection", before: str) -> None:
    """After notes were erased: what was read of the others stays as read, and of the erased no print is kept.

    before  what `learning_of` said before
    """
    after = learning_of(connection)
    is_same = 'r.load = n.load AND r."row" = n."row"'
    if after:
        connection.execute(
            f"UPDATE notes_read AS r SET print = md5(n.note || '{after}') FROM noted AS n "
            f"WHERE {is_same} AND r.print = md5(n.note || '{before}')"
        )
        connection.execute("DROP TABLE temp.noted")
    connection.execute(
        "UPDATE notes_read AS r SET print = '' FROM people.callback_rows AS n "
        f"WHERE {is_same} AND starts_with(n.note, '{ERASED}')"
    )


def _code(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue) -> None:
    own, answered = _own_examples(connection), _own_answers(connection)
    base = _base(catalogue)
    learning = _learning(base, own, answered)
    connection.execute("DELETE FROM note_state")
    connection.execute("INSERT INTO note_state VALUES (?)", [base])
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE unread AS
        SELECT n.*, md5(n.note || '{learning}') AS print FROM noted AS n
        ANTI JOIN notes_read AS r
        ON r.load = n.load AND r."row" = n."row" AND r.print = md5(n.note || '{learning}')
        """
    )
    _take_over(connection)
    wordings = [note for (note,) in connection.execute("SELECT DISTINCT note FROM unread ORDER BY note").fetchall()]
    if wordings:
        reader = _NoteReader(catalogue, own, answered)
        _keep(connection, *reader.frames(wordings))
    connection.execute("DROP TABLE temp.unread")


def _take_over(connection: "duckdb.DuckDBPyConnection") -> None:
    """What was read of the same words before, in another row, is so for the rows that are new."""
    connection.execute(
        """
        CREATE OR REPLACE TEMP TABLE told AS
        SELECT DISTINCT ON (print) * FROM notes_read SEMI JOIN unread USING (print) ORDER BY print, load, "row";
        CREATE OR REPLACE TEMP TABLE told_faults AS
        SELECT t.print, f.fault, f.confidence FROM told AS t JOIN note_faults AS f USING (load, "row");
        """
    )
    _forget_unread(connection, "SEMI JOIN told USING (print)")
    connection.execute(
        """
        INSERT INTO notes_read
        SELECT u.load, u."row", u.callback_id, u.print, t.responsibility, t.confidence
        FROM unread AS u JOIN told AS t USING (print);
        INSERT INTO note_faults
        SELECT u.load, u."row", f.fault, f.confidence FROM unread AS u JOIN told_faults AS f USING (print);
        DELETE FROM unread WHERE print IN (SELECT print FROM told);
        DROP TABLE temp.told; DROP TABLE temp.told_faults;
        """
    )


def _forget_unread(connection: "duckdb.DuckDBPyConnection", among: str = "") -> None:
    """Removes what was read of rows whose words or learning changed."""
    for table in ("note_faults", "notes_read"):
        connection.execute(
            f'DELETE FROM {table} AS t USING (FROM unread {among}) AS u WHERE t.load = u.load AND t."row" = u."row"'
        )


class _NoteReader:
    """Reads notes with what was learnt; gives frames by wording."""

    def __init__(self, catalogue: Catalogue, own: list[Example], keyed: list[tuple[str, str]]) -> None:
        lexicon = load_lexicon(catalogue.note_words)
        self._model = learnt(catalogue.note_words, tuple(row.name for row in catalogue.faults), tuple(own))
        self._answers = Answers(lexicon, confidences(self._named(keyed, lexicon)))

    def _named(self, keyed: list[tuple[str, str]], lexicon: Lexicon) -> list[tuple[str | None, str]]:
        """(named in the note, keyed) of the firm's own callbacks."""
        if not keyed:
            return []
        read = self._model.read([note for note, _ in keyed])
        return [
            (named_in(features, [fault for fault, _ in self._faults(row)], lexicon), responsibility)
            for features, row, (_, responsibility) in zip(read, self._answered(read), keyed, strict=True)
        ]

    def frames(self, notes: list[str]) -> tuple[pl.DataFrame, pl.DataFrame]:
        """By note: its responsibility, if it names one; and a row for each fault that is sure enough."""
        said: list[tuple[str, str | None, float | None]] = []
        found: list[tuple[str, str, float]] = []
        for start in range(0, len(notes), _CHUNK):
            part = notes[start : start + _CHUNK]
            read = self._model.read(part)
            for note, features, row in zip(part, read, self._answered(read), strict=True):
                faults = self._faults(row)
                found += [(note, fault, chance) for fault, chance in faults]
                said.append((note, *(self._answers.of(features, [fault for fault, _ in faults]) or (None, None))))
        return (
            pl.DataFrame(said, ["note", "responsibility", "confidence"], orient="row", infer_schema_length=None),
            pl.DataFrame(found, {"note": pl.String, "fault": pl.String, "confidence": pl.Float64}, orient="row"),
        )

    def _answered(self, read: list[Any]) -> Any:
        """Chances of the faults that are sure enough, 0 for others; a row a note."""
        chances = self._model.chances(read)
        return chances * answers(chances, self._model.faults, self._model.bars)

    def _faults(self, row: Any) -> list[tuple[str, float]]:
        return [(self._model.faults[place], round(float(row[place]), 3)) for place in row.nonzero()[0]]


@lru_cache(maxsize=1)
def learnt(words: tuple[NoteWord, ...], faults: tuple[str, ...], own: tuple[Example, ...]) -> NoteModel:
    """What the labelled notes and the firm's own teach; kept, since the next delivery is read with the same."""
    return NoteModel(load_lexicon(words), faults).learn([*labelled_notes(), *own])


def labelled_notes() -> list[Example]:
    """The invented notes, labelled by hand, that come with fitback."""
    text = files(__package__).joinpath("notes.csv").read_text(encoding="utf-8")
    return [Example(row["note"], frozenset(row["faults"].split(";"))) for row in csv.DictReader(text.splitlines())]


def _own_examples(connection: "duckdb.DuckDBPyConnection") -> list[Example]:
    """The firm's notes with keyed faults, one example a wording, in an order that does not favour the old."""
    rows = connection.execute(
        f"""
        SELECT note, mode(fault ORDER BY fault) FROM noted
        WHERE fault IS NOT NULL AND fault NOT LIKE '%{UNCLEAR}%' GROUP BY note
        ORDER BY md5(note), note LIMIT {MOST_OWN_EXAMPLES}
        """
    ).fetchall()
    by_hand = {example.note for example in labelled_notes()}
    return [Example(note, _codes(keyed), OWN_WEIGHT) for note, keyed in rows if note not in by_hand]


def _own_answers(connection: "duckdb.DuckDBPyConnection") -> list[tuple[str, str]]:
    return connection.execute(
        f"""
        SELECT note, responsibility FROM noted WHERE responsibility IS NOT NULL
        ORDER BY md5(note), note, responsibility LIMIT {MOST_OWN_EXAMPLES}
        """
    ).fetchall()


def _codes(keyed: str) -> frozenset[str]:
    return frozenset(code.strip() for code in keyed.split(";") if code.strip())


def _base(catalogue: Catalogue) -> str:
    """One hash for all that what is read of a note depends on, beside the firm's notes."""
    digest = hashlib.sha256(version("scikit-learn").encode())
    for file in sorted(files(__package__).iterdir(), key=lambda file: file.name):
        if file.name.endswith((".py", ".toml", ".csv")):
            digest.update(file.read_bytes())
    digest.update(repr(([row.name for row in catalogue.faults], catalogue.note_words)).encode())
    return digest.hexdigest()[:32]


def _learning(base: str, own: list[Example], answered: list[tuple[str, str]]) -> str:
    """One hash for all that what is read of a note depends on, beside the note."""
    examples = [(example.note, sorted(example.faults)) for example in own]
    return hashlib.sha256(repr((base, examples, answered)).encode()).hexdigest()[:32]


def _keep(connection: "duckdb.DuckDBPyConnection", said: pl.DataFrame, found: pl.DataFrame) -> None:
    _forget_unread(connection)
    with_frame(
        connection,
        said,
        'INSERT INTO notes_read SELECT u.load, u."row", u.callback_id, u.print, i.responsibility, i.confidence '
        "FROM unread AS u JOIN incoming AS i USING (note)",
    )
    with_frame(
        connection,
        found,
        'INSERT INTO note_faults SELECT u.load, u."row", i.fault, i.confidence '
        "FROM unread AS u JOIN incoming AS i USING (note)",
    )
