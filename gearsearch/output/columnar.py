"""Arrow tables written down as they come, never all held: the one Parquet writer, and CSV of the same columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, BinaryIO, TextIO

from .records import CsvRows

if TYPE_CHECKING:
    import pyarrow as pa

GROUP_ROWS = 16_384  # rows of a row group: the least a reader takes in


class ParquetTables:
    """Tables being written as Parquet: typed, compressed, in row groups of one size however the rows come.

    Parameters
    ----------
    stream : where to
    schema : the Arrow schema of every table
    sorted_by : names of the columns by which the rows ascend
    """

    def __init__(self, stream: BinaryIO, schema: pa.Schema, sorted_by: Sequence[str] = ()) -> None:
        import pyarrow.parquet as pq

        order = pq.SortingColumn.from_ordering(schema, [(name, "ascending") for name in sorted_by]) or None

        self._schema = schema
        self._waiting: list[pa.Table] = []
        self._writer = pq.ParquetWriter(stream, schema, compression="zstd", sorting_columns=order)

    def add(self, table: pa.Table) -> None:
        """Take some more rows; whole row groups are written at once."""
        import pyarrow as pa

        self._waiting.append(table)
        if sum(map(len, self._waiting)) >= GROUP_ROWS:
            whole = pa.concat_tables(self._waiting).combine_chunks()
            full = len(whole) - len(whole) % GROUP_ROWS
            self._writer.write_table(whole.slice(0, full), row_group_size=GROUP_ROWS)
            self._waiting = [whole.slice(full)]

    def close(self) -> None:
        """Write the last rows and the footer."""
        import pyarrow as pa

        rest = pa.concat_tables(self._waiting) if self._waiting else self._schema.empty_table()
        self._writer.write_table(rest, row_group_size=GROUP_ROWS)
        self._writer.close()


class CsvTables:
    """Tables being written as CSV, as ``ParquetTables``."""

    def __init__(self, stream: TextIO, schema: pa.Schema) -> None:
        self._rows = CsvRows(stream, schema.names)

    def add(self, table: pa.Table) -> None:
        """Write some more rows."""
        self._rows.add(zip(*(column.to_pylist() for column in table.columns), strict=True))

    def close(self) -> None:
        """Nothing is left to write."""
