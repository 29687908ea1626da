"""Makes a large scorecard out of a small one, to measure `judge` with.

    $(scripts/venv) scripts/repeat_scorecard.py small.parquet large.parquet 1000000

Episodes are repeated under new ids, each reading smaller by up to a thousandth, so that no two are
alike. Spans, notes, holes and sketches are copied as they are.
"""

import sys

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

GROUP = 4096


def repeated(table: pa.Table, first: int, rows: int, random: np.random.Generator) -> pa.Table:
    """Rows `first` and on of the endless repetition of a table."""
    picked = table.take(pa.array((first + np.arange(rows)) % table.num_rows))
    number = np.arange(first, first + rows, dtype=np.uint64)
    columns = []
    for name, column in zip(picked.column_names, picked.columns):
        if name == "episode":
            column = pa.array([str(n) for n in number])
        elif name == "index":
            column = pa.array(number)
        elif name == "content":
            column = pa.array(random.integers(1, 2**63, rows, dtype=np.uint64))
        elif "/" in name:
            values = column.to_numpy(zero_copy_only=False)
            values = values * (1 - 1e-3 * random.uniform(0, 1, rows))
            column = pa.array(values, from_pandas=True)
        columns.append(column)
    return pa.table(columns, schema=picked.schema)


def main() -> None:
    """Command line."""
    small, large, episodes = sys.argv[1], sys.argv[2], int(sys.argv[3])
    # What the file says of the rig is under a key of its own, which a table does not take along.
    key = b"teleassay.scorecard"
    told = pq.read_metadata(small).metadata[key]
    table = pq.read_table(small).replace_schema_metadata({key: told})
    random = np.random.default_rng(1)
    dictionaries = [name for name in table.column_names if "/" not in name]
    with pq.ParquetWriter(
        large,
        table.schema,
        compression="zstd",
        use_dictionary=dictionaries,
        write_statistics=False,
    ) as writer:
        for first in range(0, episodes, GROUP):
            rows = min(GROUP, episodes - first)
            writer.write_table(repeated(table, first, rows, random), row_group_size=GROUP)


if __name__ == "__main__":
    main()
