"""Writes a proposal as [[sheet]] text, each line with its reason, and puts it into fitback.toml.

Only the lines between two marker comments are ever written; everything else in the file stays as it is.
"""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping import LINES, Each, LookUp, Source, folded
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.records import CALLBACKS, DAY, record_named
from pipeline.settings import SETTINGS_FILE

_BEGIN, _END = "# >>> sheets of {}, proposed by fitback match", "# <<< sheets of {}"
_REASON_AT = 58
TO_COMPLETE = f"; what was found of it stands as a comment in {SETTINGS_FILE}: complete it there and take the # away"
# So many headings are named for a column that is wanting.
_MOST_CANDIDATES = 8


@dataclass(frozen=True)
class Block:
    """Sheets of one layout: which files and sheets they are, and the proposal for them all."""

    file: str
    sheet: str
    proposal: Proposal


def block_text(block: Block) -> str:
    """The [[sheet]] table of a block."""
    proposal = block.proposal
    lines = ["[[sheet]]", f"file = {_quoted(block.file)}"]
    if block.sheet != "*":
        lines.append(f"sheet = {_quoted(block.sheet)}")
    if proposal.is_form:
        lines.append(_with_reason("form = true", "one door a sheet: cells beside their labels"))
    if proposal.is_foot:
        lines.append(_with_reason("at_foot = true", "a table at the foot of each form"))
    if proposal.begins_with:
        line = f"begins_with = {_quoted(proposal.begins_with)}"
        lines.append(_with_reason(line, "several forms below one another, each from this label on"))
    if proposal.is_part:
        lines.append(_with_reason("several_tables = true", "one of several tables in its sheet, set apart by blanks"))
    if proposal.is_across:
        lines.append(_with_reason("across = true", "headings below one another, a column for every row"))
    if proposal.layout.heads.n_rows > 1:
        lines.append(f"header_rows = {proposal.layout.heads.n_rows}")
    if proposal.fill_down:
        lines.append(_with_reason(f"fill_down = {_list(proposal.fill_down)}", "a blank is the same as above"))
    for heading, kinds in proposal.leave_out.items():
        line = f"leave_out = {{ {_quoted(heading)} = {_list(kinds)} }}"
        lines.append(_with_reason(line, "rows that are no callbacks"))
    unplaced = [*proposal.others, *(heading for heading, _ in proposal.doubts)]
    if unplaced:
        lines.append(_with_reason(f"not_placed = {_list(unplaced)}", "not read; place one below, or move it to ignore"))
    for record, columns in proposal.columns.items():
        lines += ["", f"[sheet.{record}]", *_record_lines(proposal, record, columns)]
    if is_drafted(proposal):
        lines += ["", *_draft_lines(proposal)]
    return "\n".join([*lines, *_doubt_lines(proposal)]) + "\n"


def draft_text(block: Block, wanting: tuple[str, ...], why: str) -> str:
    """The [[sheet]] table of a record that lacks columns, as a comment with a line for each to be completed."""
    proposal = block.proposal
    (record,) = proposal.columns
    lines = []
    for line in block_text(block).splitlines():
        lines.append(line)
        if line == f"[sheet.{record}]":
            lines += _wanting_lines(proposal, wanting, proposal.placed)
    return "\n".join(_commented(why, lines)) + "\n"


def is_drafted(proposal: Proposal) -> bool:
    """Whether a record is kept as a comment to be completed beside others that the sheet holds."""
    draft = proposal.draft
    if draft is None or not draft.columns or not proposal.columns:
        return False
    return draft.columns.keys().isdisjoint(proposal.columns)


def _draft_lines(proposal: Proposal) -> list[str]:
    """The table of the record that lacks columns, as a comment under those of the same sheet that lack none."""
    draft = proposal.draft
    assert draft is not None
    ((record, columns),) = draft.columns.items()
    wanting = _wanting_lines(draft, proposal.wanting, proposal.placed | draft.placed)
    lines = [f"[sheet.{record}]", *wanting, *_record_lines(draft, record, columns)]
    if further := [one for one in draft.fill_down if one not in proposal.fill_down]:
        lines.insert(0, f"in fill_down above, as a blank is the same as above: {_list(further)}")
    return _commented("; ".join(proposal.missing), lines)


def _wanting_lines(draft: Proposal, wanting: tuple[str, ...], placed: set[str]) -> list[str]:
    """A line to be completed for each column that a record lacks. placed: headings (folded) that mean something."""
    (record,) = draft.columns
    evidence = draft.layout.evidence
    free = [text for text in draft.others if folded(text) not in placed and evidence[folded(text)].filled]
    days = [text for text in free if evidence[folded(text)].are_days]
    likely = {name: (days if record_named(record).column(name).kind == DAY else []) or free for name in wanting}
    return [
        _with_reason(f'{name} = ""', f"write the heading in; {_candidates(texts)}") for name, texts in likely.items()
    ]


def _commented(why: str, lines: list[str]) -> list[str]:
    return [f"# {why}:", *(f"# {line}".rstrip() for line in lines)]


def _candidates(headings: list[str]) -> str:
    """Headings that have no place yet."""
    return f"without a place: {', '.join(map(repr, headings[:_MOST_CANDIDATES]))}" if headings else "no heading is left"


def put_into(path: Path, file: str, text: str) -> Path | None:
    """Writes the text into a fitback.toml between the markers of a file pattern; the rest of it stays.

    Where another text stood between the markers, the file is first copied; returns the copy.
    Raises UserError where what results cannot be read, and then leaves the file as it was.
    """
    before = path.read_text(encoding="utf-8-sig") if path.exists() else ""
    begin, end = _BEGIN.format(_plain(file)), _END.format(_plain(file))
    marked = re.compile(rf"^{re.escape(begin)}$.*?^{re.escape(end)}$\n?", re.MULTILINE | re.DOTALL)
    block = f"{begin}\n{text.rstrip()}\n{end}\n"
    found = marked.search(before)
    if found:
        after = marked.sub(lambda _: block, before, count=1)
    else:
        after = before + ("\n" if before and not before.endswith("\n\n") else "") + block
    try:
        tomllib.loads(after)
    except tomllib.TOMLDecodeError as error:
        raise UserError(f"{SETTINGS_FILE} cannot take the proposal: {error}; correct the file and run again.") from None
    copy = path.with_name(f"{path.name}.before") if found and found[0] != block else None
    if copy is not None:
        copy.write_text(before, encoding="utf-8")
    path.write_text(after, encoding="utf-8")
    return copy


def _record_lines(proposal: Proposal, record: str, columns: dict[str, Source]) -> list[str]:
    lines = [_with_reason(f"{name} = {_source(source)}", _why(proposal, source)) for name, source in columns.items()]
    if record in proposal.items:
        names = proposal.items[record]
        item, how = (_quoted(names[0]), "") if len(names) == 1 else (_list(names), ", together")
        lines.append(_with_reason(f"item = {item}", f"names what each row is{how}"))
    if record in proposal.words:
        words, why = proposal.words[record]
        lines.append(_with_reason(f"words = {_words(words)}", why))
    if record == CALLBACKS.name and proposal.calls:
        lines += ["each = [", *(_with_reason(f"  {_call(one)},", "a call of the row") for one in proposal.calls), "]"]
    entries = proposal.each.get(record, [])
    unsure = [one for one in proposal.unsure if one.record == record]
    if not entries:
        return lines
    if record == "readings" and "width" in proposal.lengths and any(one.along == "width" for one in entries):
        lines.append(f"share_of = {_source(proposal.lengths['width'])}")
    lines.append("each = [")
    lines += [_with_reason(f"  {_entry(proposal, one)},", one.why) for one in entries]
    lines += [_with_reason(f"  # {_entry(proposal, one)},", f"not sure: {one.doubt}") for one in unsure]
    return [*lines, "]"]


def _call(columns: dict[str, Source]) -> str:
    """One of several callbacks in the row of a door."""
    return "{ " + ", ".join(f"{name} = {_source(source)}" for name, source in columns.items()) + " }"


def _entry(proposal: Proposal, one: Proposed) -> str:
    each: Each = one.each
    parts = [f"column = {_quoted(each.heading)}" if each.heading is not None else f"item = {_quoted(each.item or '')}"]
    parts += [f"part = {each.part}"] if each.part else []
    parts += [f"low = {_quoted(each.low)}"] if each.low else []
    for name, text in each.fixed:
        is_number = name == "position_mm"
        parts.append(f"{name} = {text if is_number else _quoted(text)}")
    if each.unit_heading is not None:
        parts.append(f"unit_column = {_quoted(each.unit_heading)}")
    if each.position_heading is not None:
        parts.append(f"position_column = {_quoted(each.position_heading)}")
    if each.bare_unit is not None:
        parts.append(f"bare_unit = {_quoted(each.bare_unit)}")
    if each.is_turned:
        parts.append('sign = "-"')
    if each.share is not None and one.along in proposal.lengths:
        parts.append(f"share = {each.share:g}" if each.share % 1 else f"share = {each.share:.1f}")
        if one.along != "width":
            parts.append(f"of = {_source(proposal.lengths[one.along])}")
    return "{ " + ", ".join(parts) + " }"


def _doubt_lines(proposal: Proposal) -> list[str]:
    """What is not placed, as comments with what it may be."""
    listed = {str(one.each.heading) for one in proposal.unsure if proposal.each.get(one.record)}
    doubts = [(heading, why) for heading, why in proposal.doubts if heading not in listed]
    lines = [f"# not sure of {_quoted(heading)}: {_plain(why)}" for heading, why in doubts]
    return ["", *lines] if lines else []


def _why(proposal: Proposal, source: Source) -> str:
    if source.look_up:
        return "no column here says it; it stands there beside the same number"
    if source.from_row:
        return "no column numbers the rows: made of what each says, so that it stays when the file grows"
    if source.from_lines:
        return proposal.why.get(f"{LINES} {source.after}", "")
    return proposal.why.get((source.heading or source.above or "").casefold(), "")


def _source(source: Source) -> str:
    if source.sheet_name:
        return '{ from = "sheet" }'
    if source.from_row:
        return '{ from = "row" }'
    if source.from_lines:
        label = f", after = {_quoted(source.after)}" if source.after else ""
        words = f", words = {_words(source.words)}" if source.words else ""
        return f'{{ from = "{LINES}"{label}{words} }}'
    if source.look_up:
        return _look_up(source.look_up, source.unit)
    if source.joined:
        between = "" if source.between == " " else f", with = {_quoted(source.between)}"
        return f"{{ join = {_list([source.heading or '', *source.joined])}{between} }}"
    if source.marks:
        return f"{{ marks = {_words(source.marks)} }}"
    if source.above is not None:
        return f"{{ above = {_quoted(source.above)} }}"
    if source.always is not None:
        return f"{{ always = {_quoted(source.always)} }}"
    parts = [f"column = {_quoted(source.heading or '')}"]
    parts += [f"part = {source.part}"] if source.part else []
    parts += [f"unit = {_quoted(source.unit)}"] if source.unit else []
    parts += [f"unit_column = {_quoted(source.unit_heading)}"] if source.unit_heading else []
    parts += [f"prefix = {_quoted(source.prefix)}"] if source.prefix else []
    parts += ['sign = "-"'] if source.is_turned else []
    parts += [f"words = {_words(source.words)}"] if source.words else []
    return _quoted(source.heading or "") if len(parts) == 1 else "{ " + ", ".join(parts) + " }"


def _look_up(one: LookUp, unit: str | None) -> str:
    by = _quoted(one.here) if folded(one.here) == folded(one.there) else f"[{_quoted(one.here)}, {_quoted(one.there)}]"
    parts = [f"look_up = {_quoted(one.column)}"]
    parts += [f"in = {_quoted(one.file)}"] if one.file else []
    parts += [f"sheet = {_quoted(one.sheet)}"] if one.sheet != "*" or not one.file else []
    parts += [f"header_rows = {one.header_rows}"] if one.header_rows > 1 else []
    parts += [f"by = {by}"]
    parts += [f"unit = {_quoted(unit)}"] if unit else []
    return "{ " + ", ".join(parts) + " }"


def _words(words: tuple[tuple[str, str], ...]) -> str:
    return "{ " + ", ".join(f"{_quoted(text)} = {_quoted(word)}" for text, word in words) + " }"


def _with_reason(line: str, reason: str) -> str:
    plain = _plain(reason)
    return f"{line:<{_REASON_AT}}  # {plain}" if plain else line


def _plain(text: str) -> str:
    """A text that may stand in a comment: one line, nothing that does not show."""
    return "".join(char for char in " ".join(text.split()) if char.isprintable())


def _list(texts: Iterable[str]) -> str:
    return "[" + ", ".join(map(_quoted, dict.fromkeys(texts))) + "]"


def _quoted(text: str) -> str:
    """A TOML basic string."""
    text = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(char if char.isprintable() else f"\\U{ord(char):08x}" for char in text) + '"'
