"""Writes the episodes of a table as a logger does: one after the other, in one of several styles.

usage: writer.py TABLES FOLDER STYLE SECONDS [COUNT]
"""
import glob
import io
import os
import sys
import time

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

tables, folder, style, seconds = sys.argv[1:5]
paths = sorted(glob.glob(os.path.join(tables, "*.parquet"))) or [tables]
table = pa.concat_tables([pq.read_table(path) for path in paths]).combine_chunks()
ids = pc.unique(table["episode"]).to_pylist()
ids = ids[: int(sys.argv[5]) if len(sys.argv) > 5 else len(ids)]
every = float(seconds)


def episode(number):
    return table.filter(pc.equal(table["episode"], number)).combine_chunks()


def parquet(number):
    held = io.BytesIO()
    pq.write_table(episode(number), held)
    return held.getvalue()


def path(number):
    return os.path.join(folder, f"run-{number}.parquet")


def slowly(number, parts=8):
    """In place, piece by piece, under the final name."""
    data = parquet(number)
    with open(path(number), "wb", buffering=0) as out:
        for part in range(parts):
            out.write(data[part * len(data) // parts : (part + 1) * len(data) // parts])
            time.sleep(every / parts)


def renamed(number):
    """Under a name of its own in the same folder, then the final one."""
    part = path(number) + ".part"
    with open(part, "wb") as out:
        out.write(parquet(number))
    time.sleep(every)
    os.rename(part, path(number))


def appended(numbers, name, new_file):
    """One file for all: several record batches an episode, or lines, which are there at once."""
    with open(os.path.join(folder, name), "wb", buffering=0) as out:
        writer = new_file(out)
        for number in numbers:
            rows = episode(number)
            quarter = max(1, rows.num_rows // 4)
            for start in range(0, rows.num_rows, quarter):
                writer(rows.slice(start, quarter))
                time.sleep(every / 5)
        writer(None)


def interleaved(numbers):
    """Two episodes at a time in one stream, a quarter of each in turn."""
    with open(os.path.join(folder, "run.arrows"), "wb", buffering=0) as out:
        write = stream(out)
        for pair in zip(numbers[::2], numbers[1::2]):
            both = [episode(number) for number in pair]
            for part in range(5):
                for rows in both:
                    quarter = max(1, rows.num_rows // 4)
                    write(rows.slice(part * quarter, quarter))
                    time.sleep(every)
        write(None)


def stream(out):
    writer = pa.ipc.new_stream(out, table.schema)

    def write(rows):
        if rows is None:
            writer.close()
            return
        for batch in rows.to_batches():
            writer.write_batch(batch)

    return write


def lines(out):
    import json

    def write(rows):
        for row in rows.to_pylist() if rows is not None else []:
            out.write((json.dumps(row) + "\n").encode())

    return write


def cut(number):
    """Half of it, and then nothing: the writer is killed by whoever started it."""
    data = parquet(number)
    with open(path(number), "wb", buffering=0) as out:
        out.write(data[: len(data) // 2])
        print("cut", flush=True)
        time.sleep(3600)


if style == "stream":
    appended(ids, "run.arrows", stream)
elif style == "lines":
    appended(ids, "run.jsonl", lines)
elif style == "interleaved":
    interleaved(ids)
elif style == "cut":
    cut(ids[-1])
else:
    for number in ids:
        {"slowly": slowly, "renamed": renamed}[style](number)
