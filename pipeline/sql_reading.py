"""What a SELECT reads: which tables, which names it mentions, and which tables it may take whole.

Works on the text by sqlglot alone; never runs it.
"""

from collections.abc import Iterator
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlglot import exp
    from sqlglot.optimizer.scope import Scope


def parse_select(query: str) -> "exp.Query":
    """The one SELECT of the text. Raises ValueError, saying why, where the text is anything else."""
    import sqlglot
    from sqlglot import exp

    try:
        statements = sqlglot.parse(query, dialect="duckdb")
    except sqlglot.errors.SqlglotError as error:
        raise ValueError(f"the SQL cannot be parsed: {error}") from error
    statements = [statement for statement in statements if not isinstance(statement, exp.Semicolon | None)]
    if len(statements) != 1 or not isinstance(statements[0], exp.Query):
        raise ValueError("write exactly one SELECT and nothing else")
    return statements[0]


@cache
def tables_read(query: str) -> tuple[str, ...]:
    """The names of the tables that the query reads, common table expressions left out, sorted."""
    from sqlglot.optimizer.scope import traverse_scope

    found = {table.name for scope in traverse_scope(parse_select(query)) for table in _base_tables(scope).values()}
    return tuple(sorted(found - {""}))


@cache
def columns_named(query: str) -> frozenset[str]:
    """Every name in the query, in lower case: a column that is read by its name stands among them."""
    from sqlglot import exp

    return frozenset(identifier.name.lower() for identifier in parse_select(query).find_all(exp.Identifier))


@cache
def taken_whole(query: str) -> frozenset[str]:
    """Tables of which the query may take columns that it does not name; `*` where it may be any table."""
    from sqlglot import exp
    from sqlglot.optimizer.scope import traverse_scope

    tree = parse_select(query)
    scopes = list(traverse_scope(tree))
    found = {name for scope in scopes for name in _starred(scope)}
    aliases = {table.alias_or_name for table in tree.find_all(exp.Table)}
    rows = any(column.name in aliases for column in tree.find_all(exp.Column))
    hidden = any(not _is_plain(star) for star in tree.find_all(exp.Star))
    return frozenset(found | {"*"} if rows or hidden else found)


def _base_tables(scope: "Scope") -> "dict[str, exp.Table]":
    from sqlglot import exp

    return {alias: source for alias, source in scope.sources.items() if isinstance(source, exp.Table)}


def _starred(scope: "Scope") -> Iterator[str]:
    """The tables whose columns the stars of one SELECT's list bring along."""
    from sqlglot import exp

    tables = _base_tables(scope)
    items = scope.expression.selects if isinstance(scope.expression, exp.Query) else []
    for item in items:
        if isinstance(item, exp.Star):
            yield from (table.name for table in tables.values())
        elif item.is_star and isinstance(item, exp.Column) and item.table in tables:
            yield tables[item.table].name


def _is_plain(star: "exp.Star") -> bool:
    """True for the star of a SELECT's list, bare or behind a table's name, and of count(*)."""
    from sqlglot import exp

    holder = star.parent
    if isinstance(holder, exp.Column):
        holder = holder.parent
    return isinstance(holder, exp.Select | exp.Count)
