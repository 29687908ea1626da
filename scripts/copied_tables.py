"""Random tables of an arm that moves seedling plugs, for check_copies.py: of many types and layouts."""

import decimal
import json

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet as pq

KINDS = ["parquet", "file", "parquet", "stream", "duckdb-parquet", "parquet", "csv", "parquet", "jsonl"]


def odd_floats(rng, count, kind=np.float32):
    """Numbers with NaN of several bit patterns, infinities and both zeros among them."""
    values = rng.normal(size=count).astype(kind)
    whole = np.uint32 if kind == np.float32 else np.uint64
    patterns = [0x7FC00001, 0xFFC12345, 0x7F800000, 0x80000000]
    if kind == np.float64:
        patterns = [0x7FF8000000000001, 0xFFF8000000012345, 0x7FF0000000000000, 1 << 63]
    for place in rng.integers(0, count, size=max(1, count // 40)):
        values.view(whole)[place] = rng.choice(np.array(patterns, dtype=whole))
    return values


def vectors(rng, rows, kind, names):
    """Positions of two joints: a list, a list of fixed size, a struct, or a column for each."""
    t = np.arange(rows) / 25.0
    waist, elbow = np.sin(t), np.cos(0.7 * t)
    both = np.stack([waist, elbow], axis=1) + rng.normal(scale=0.01, size=(rows, 2))
    if kind == "columns":
        return {f"{names}_{joint}": pa.array(both[:, at]) for at, joint in enumerate(["waist", "elbow"])}
    flat = pa.array(both.astype(np.float32).reshape(-1))
    if kind == "fixed":
        return {names: pa.FixedSizeListArray.from_arrays(flat, 2)}
    if kind == "struct":
        fields = [pa.array(both[:, 0].astype(np.float32)), pa.array(both[:, 1].astype(np.float32))]
        return {names: pa.StructArray.from_arrays(fields, ["waist", "elbow"])}
    offsets = pa.array(np.arange(rows + 1) * 2, pa.int32())
    return {names: pa.ListArray.from_arrays(offsets, flat)}


def runs(rng, count, interleaved):
    """Number of the episode of each row."""
    lengths = rng.integers(20, 90, size=count)
    numbers = np.repeat(np.arange(count), lengths)
    if interleaved:
        cuts = rng.permutation(len(numbers))
        numbers = numbers[np.argsort(cuts // 7, kind="stable")]
    return numbers


def maybe(rng, values, share=0.1):
    return [None if rng.random() < share else value for value in values]


def others(rng, rows):
    """Columns that have no role."""
    names = np.array(["plug", "pot", "tray", "a much longer note about the seedling in its plug"])
    nested = [
        None if rng.random() < 0.2 else [
            {"leaf": int(n), "names": maybe(rng, names[: n % 3])} for n in range(rng.integers(0, 4))
        ]
        for _ in range(rows)
    ]
    maps = [[(str(key), int(rng.integers(0, 9))) for key in names[: rng.integers(0, 3)]] for _ in range(rows)]
    images = [rng.bytes(int(rng.integers(0, 60))) for _ in range(rows)]
    moist = [decimal.Decimal(int(rng.integers(-10**9, 10**9))).scaleb(-4) for _ in range(rows)]
    return {
        "note": pa.array(maybe(rng, rng.choice(names, rows)), pa.string()),
        "kind": pa.array(rng.choice(names, rows)).dictionary_encode(),
        "large": pa.array(maybe(rng, rng.choice(names, rows)), pa.large_string()),
        "noise": pa.array(odd_floats(rng, rows)),
        "wide": pa.array(odd_floats(rng, rows, np.float64)),
        "half": pa.array(rng.normal(size=rows).astype(np.float16)),
        "wet": pa.array(maybe(rng, [bool(b) for b in rng.integers(0, 2, rows)]), pa.bool_()),
        "day": pa.array(rng.integers(0, 20000, rows).astype(np.int32)).cast(pa.date32()),
        "small": pa.array(rng.integers(0, 255, rows).astype(np.uint8)),
        "huge": pa.array(rng.integers(0, 2**63, rows).astype(np.uint64) * np.uint64(2)),
        "moisture": pa.array(maybe(rng, moist), pa.decimal128(18, 4)),
        "image": pa.array(maybe(rng, images), pa.binary()),
        "nested": pa.array(nested, pa.list_(pa.struct([("leaf", pa.int16()), ("names", pa.list_(pa.string()))]))),
        "map": pa.array(maps, pa.map_(pa.string(), pa.int32())),
        "empty": pa.nulls(rows, pa.int32()),
        "zoned": pa.array(rng.integers(0, 10**15, rows), pa.timestamp("us", tz="UTC")),
    }


def random_shape(rng, kind):
    """What all tables of one session have in common."""
    text = kind in ("csv", "jsonl")
    # DuckDB has no half floats, and stores no dictionary type.
    plain = ["note", "noise", "wet", "moisture", "image", "nested", "map", "zoned"]
    extra = plain if kind == "duckdb-parquet" else list(others(rng, 1))
    order = list(rng.permutation(extra))
    texts = not text and rng.random() < 0.4
    return {
        "layout": "columns" if text else str(rng.choice(["list", "fixed", "struct", "columns"])),
        "texts": texts,
        "dictionary": texts and kind != "duckdb-parquet" and rng.random() < 0.5,
        "nulls": not text and rng.random() < 0.3,
        "interleaved": rng.random() < 0.3,
        "extra": [] if text else order[: rng.integers(4, len(order) + 1)],
        "order": int(rng.integers(0, 1000)),
    }


def random_table(rng, kind, number, shape):
    """A table, and the id of each of its rows; none where it has none."""
    numbers = runs(rng, int(rng.integers(2, 9)), shape["interleaved"]) + 100 * number
    rows = len(numbers)
    seconds = 5000.0 + np.arange(rows) / 25.0 + rng.normal(scale=1e-4, size=rows)
    ids = [f"pot {own}" if shape["texts"] else int(own) for own in numbers]
    if shape["nulls"]:
        ids = [None if rng.random() < 0.02 else own for own in ids]
    run = pa.array(ids)
    columns = {"run": run.dictionary_encode() if shape["dictionary"] else run}
    columns["stamp"] = pa.array(seconds)
    for side in ["follower", "leader"]:
        columns |= vectors(rng, rows, shape["layout"], side)
    if shape["extra"]:
        extra = others(rng, rows)
        columns |= {str(name): extra[name] for name in shape["extra"]}
    table = pa.table(columns)
    if kind not in ("csv", "jsonl"):
        table = table.replace_schema_metadata({"site": "north", "odd": "\u00fc"})
    order = np.random.default_rng(shape["order"]).permutation(table.column_names)
    return table.select([str(name) for name in order]), ids


def write(rng, table, path, kind):
    size = int(rng.choice([17, 60, 150, 10_000]))
    if kind == "parquet":
        write_parquet(rng, table, path, size)
    elif kind == "duckdb-parquet":
        codec = rng.choice(["snappy", "zstd", "gzip", "uncompressed", "lz4_raw"])
        version = rng.choice(["v1", "v2"])
        connection = duckdb.connect()
        connection.register("recorded", table)
        connection.execute(
            f"copy recorded to '{path}' (format parquet, codec '{codec}', row_group_size 2048, parquet_version {version})"
        )
    elif kind == "csv":
        pa.csv.write_csv(table, path)
    elif kind == "jsonl":
        jsonl(table, path)
    else:
        options = pa.ipc.IpcWriteOptions(compression=rng.choice([None, "lz4", "zstd"]))
        new = pa.ipc.new_stream if kind == "stream" else pa.ipc.new_file
        # A file has one dictionary for all of its batches.
        table = table.unify_dictionaries()
        with new(str(path), table.schema, options=options) as writer:
            writer.write_table(table, max_chunksize=size)


def write_parquet(rng, table, path, size):
    split = rng.random() < 0.3
    options = {
        "compression": str(rng.choice(["none", "snappy", "gzip", "zstd", "brotli", "lz4"])),
        "data_page_version": str(rng.choice(["1.0", "2.0"])),
        "version": str(rng.choice(["1.0", "2.4", "2.6"])),
        "row_group_size": size,
        "write_page_index": bool(rng.random() < 0.5),
        "write_statistics": bool(rng.random() < 0.8),
        "store_schema": bool(rng.random() < 0.7),
        "use_dictionary": False if split else bool(rng.random() < 0.7),
    }
    if split and "wide" in table.column_names:
        options["column_encoding"] = {"wide": "BYTE_STREAM_SPLIT"}
    pq.write_table(table, path, **options)


def jsonl(table, path):
    lines = (json.dumps(row) + "\n" for row in table.to_pylist())
    path.write_text("".join(lines))
