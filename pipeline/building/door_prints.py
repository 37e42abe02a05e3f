"""One print a door for each record that names doors: equal prints mean that no row of the door changed.

Takes a connection that finds the record views by name and writes the table `door_prints` of the results.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from pipeline.building.fingerprints import digest, rows_hash
from pipeline.building.table_making import DOOR

if TYPE_CHECKING:
    import duckdb

DOOR_PRINTS = "door_prints"


def write_door_prints(connection: "duckdb.DuckDBPyConnection", records: Iterable[str]) -> dict[str, str]:
    """Writes results.main.door_prints (record, install_id, n_rows, total); gives one hash for each record.

    total  sum of the hashes of the door's rows: their order does not count
    """
    target = f"results.main.{DOOR_PRINTS}"
    connection.execute(f'CREATE TABLE {target} (record VARCHAR, "{DOOR}" VARCHAR, n_rows BIGINT, total HUGEINT)')
    return {record: _print_record(connection, record, target) for record in sorted(records)}


def _print_record(connection: "duckdb.DuckDBPyConnection", record: str, target: str) -> str:
    columns = [row[0] for row in connection.execute(f"DESCRIBE FROM {record}").fetchall()]
    if DOOR not in columns:
        return rows_hash(connection, record)
    taken = ", ".join(f'"{column}"' for column in columns)
    connection.execute(
        f"""
        INSERT INTO {target}
        SELECT '{record}', coalesce("{DOOR}", ''), count(*), sum(hash({taken})) FROM {record} GROUP BY ALL
        """
    )
    summary = connection.execute(f"SELECT sum(n_rows), sum(total) FROM {target} WHERE record = '{record}'").fetchall()
    return digest([taken, repr(summary)])
