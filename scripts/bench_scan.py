"""Scans the columns that an audit needs, with one library, and throws the values away.

    bench_scan.py LIBRARY FOLDER

Prints the rows and the seconds without the start of Python and the import. Every library gets two
threads. DuckDB is given its faster way of two (duckdb-arrow: values handed over as Arrow batches,
as the others do; duckdb-sum: summed inside); scripts/bench compares with whichever is faster.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

COLUMNS = ["episode", "time", "follower", "leader"]
BATCH = 65_536
DUCKDB = {
    "duckdb-arrow": "SELECT episode, time, follower, leader FROM read_parquet('{files}')",
    "duckdb-sum": "SELECT count(*), sum(episode), sum(time), sum(list_sum(follower)), sum(list_sum(leader)) "
                  "FROM read_parquet('{files}')",
}


def main() -> None:
    library, folder = sys.argv[1], Path(sys.argv[2])
    files = f"{folder}/*.parquet"
    if library == "pyarrow":
        import pyarrow as pa
        import pyarrow.dataset as ds
        begun = time.perf_counter()
        pa.set_cpu_count(2)
        rows = sum(b.num_rows for b in ds.dataset(folder, format="parquet").to_batches(columns=COLUMNS, batch_size=BATCH))
    elif library == "polars":
        # Its thread count comes from POLARS_MAX_THREADS, which scripts/bench sets.
        import polars as pl
        begun = time.perf_counter()
        rows = pl.read_parquet(files, columns=COLUMNS).height
    else:
        import duckdb
        begun = time.perf_counter()
        connection = duckdb.connect()
        connection.execute("SET threads = 2; SET preserve_insertion_order = false")
        answer = connection.execute(DUCKDB[library].format(files=files))
        if library == "duckdb-sum":
            rows = answer.fetchone()[0]
        else:
            rows = sum(batch.num_rows for batch in answer.to_arrow_reader(BATCH))
    print(rows, time.perf_counter() - begun)


if __name__ == "__main__":
    main()
