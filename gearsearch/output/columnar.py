"""A chart being saved in its columns as its rows come, never all held: the one Parquet writer, and CSV."""

from __future__ import annotations

from typing import TYPE_CHECKING, BinaryIO, TextIO

from .records import CsvRows

if TYPE_CHECKING:
    import pyarrow as pa

    from ..charts.columns import SavedColumns
    from ..charts.rows import LeadRows

GROUP_ROWS = 16_384  # rows of a row group: the least a reader takes in


class ParquetChart:
    """A chart being written as Parquet: typed, compressed, in row groups of one size however the rows come.

    Parameters
    ----------
    stream : where to
    columns : of the chart
    """

    def __init__(self, stream: BinaryIO, columns: SavedColumns) -> None:
        import pyarrow.parquet as pq

        self._columns, self._schema = columns, columns.schema()
        order = pq.SortingColumn.from_ordering(self._schema, [(name, "ascending") for name in columns.sorted_by])
        self._waiting: list[pa.Table] = []
        self._writer = pq.ParquetWriter(stream, self._schema, compression="zstd", sorting_columns=order or None)

    def add(self, rows: LeadRows) -> None:
        """Take some more rows; whole row groups are written at once."""
        import pyarrow as pa

        self._waiting.append(self._columns.table(rows))
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


class CsvChart:
    """A chart being written as CSV, as ``ParquetChart``."""

    def __init__(self, stream: TextIO, columns: SavedColumns) -> None:
        self._columns, self._rows = columns, CsvRows(stream, columns.schema().names)

    def add(self, rows: LeadRows) -> None:
        """Write some more rows."""
        self._rows.add(zip(*(column.to_pylist() for column in self._columns.table(rows).columns), strict=True))

    def close(self) -> None:
        """Nothing is left to write."""
