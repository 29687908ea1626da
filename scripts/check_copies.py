"""Copies by `teleassay keep` against pyarrow and DuckDB: tables of many types and layouts, random
episodes of each. Every kept row must be the same to the bit, in the same order; columns, types,
metadata, codecs and row groups must be those of the source; kept and left out must be all.

usage: check_copies.py BINARY FOLDER FIRST_SEED LAST_SEED
"""

import hashlib
import json
import subprocess
import sys
from pathlib import Path

import duckdb
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from copied_tables import KINDS, random_shape, random_table, write

KEY = b"teleassay.keep"


def bits(array):
    """The array with floats as whole numbers of the same bits, so that NaN is NaN."""
    kind = array.type
    if pa.types.is_floating(kind):
        whole = {16: pa.int16(), 32: pa.int32(), 64: pa.int64()}[kind.bit_width]
        return array.view(whole)
    if pa.types.is_dictionary(kind):
        return bits(array.dictionary_decode())
    if pa.types.is_fixed_size_list(kind):
        return bits(array.cast(pa.list_(kind.value_type)))
    if pa.types.is_list(kind) or pa.types.is_large_list(kind):
        values = bits(array.flatten())
        lengths = array.value_lengths().fill_null(0).to_numpy(zero_copy_only=False)
        offsets = np.concatenate([[0], np.cumsum(lengths)])
        whole = pa.ListArray if pa.types.is_list(kind) else pa.LargeListArray
        offset_type = pa.int32() if pa.types.is_list(kind) else pa.int64()
        made = whole.from_arrays(pa.array(offsets, offset_type), values)
        return pa.StructArray.from_arrays([made, array.is_null()], ["values", "null"])
    if pa.types.is_struct(kind):
        inner = [bits(array.field(at)) for at in range(kind.num_fields)]
        names = [kind.field(at).name for at in range(kind.num_fields)]
        if not inner:
            return array.is_null()
        made = pa.StructArray.from_arrays(inner, names)
        return pa.StructArray.from_arrays([made, array.is_null()], ["values", "null"])
    if pa.types.is_map(kind):
        return bits(array.cast(pa.list_(pa.struct([kind.key_field, kind.item_field]))))
    return array


def same_rows(expected, copied, where):
    assert expected.num_rows == copied.num_rows, f"{where}: {expected.num_rows} rows, {copied.num_rows}"
    assert expected.column_names == copied.column_names, f"{where}: {copied.column_names}"
    for name in expected.column_names:
        before = expected.column(name).combine_chunks()
        after = copied.column(name).combine_chunks()
        before = before if isinstance(before, pa.Array) else pa.concat_arrays(before.chunks)
        after = after if isinstance(after, pa.Array) else pa.concat_arrays(after.chunks)
        assert bits(before).equals(bits(after)), f"{where}: column {name} differs"


def without_note(schema):
    kept = {key: value for key, value in (schema.metadata or {}).items() if key != KEY}
    return schema.with_metadata(kept or None)


def read(path, kind):
    if kind.endswith("parquet"):
        return pq.ParquetFile(path).read()
    with pa.OSFile(str(path)) as file:
        opened = pa.ipc.open_stream(file) if kind == "stream" else pa.ipc.open_file(file)
        return opened.read_all()


def same_parquet(before, after, where):
    before, after = pq.ParquetFile(before), pq.ParquetFile(after)
    # The first line names an object in memory.
    schema = lambda file: str(file.schema).splitlines()[1:]
    assert schema(before) == schema(after), f"{where}: the Parquet schema differs"
    old, new = before.metadata, after.metadata
    pairs = dict(old.metadata or {})
    copied = {key: value for key, value in (new.metadata or {}).items() if key != KEY}
    assert pairs == copied, f"{where}: the metadata of the file differs"
    note = json.loads(new.metadata[KEY])
    assert note[-1]["rows"]["kept"] == new.num_rows, f"{where}: {note}"
    rows = lambda meta: [meta.row_group(at).num_rows for at in range(meta.num_row_groups)]
    assert max(rows(new)) <= max(rows(old)), f"{where}: row groups {rows(old)}, {rows(new)}"
    assert len(rows(new)) <= len(rows(old)), f"{where}: row groups {rows(old)}, {rows(new)}"
    for at in range(old.num_columns):
        a, b = old.row_group(0).column(at), new.row_group(0).column(at)
        for what in ["compression", "is_stats_set", "has_offset_index", "path_in_schema"]:
            assert getattr(a, what) == getattr(b, what), f"{where}: {a.path_in_schema}: {what}"
        data = lambda chunk: {e for e in chunk.encodings if e not in ("RLE", "PLAIN", "BIT_PACKED")}
        # A dictionary is left where a column has many values, on either side.
        odd = data(a) ^ data(b)
        assert odd <= {"RLE_DICTIONARY", "PLAIN_DICTIONARY"}, f"{where}: {a.encodings} {b.encodings}"


def run(binary, *args):
    return subprocess.run([binary, *map(str, args)], capture_output=True, text=True, check=False)


def hashes(folder):
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def check_text(source, copy, chosen, ids):
    lines = source.read_bytes().splitlines(keepends=True)
    head = lines[:1] if source.suffix == ".csv" else []
    wanted = head + [line for line, own in zip(lines[len(head):], ids) if own in chosen]
    assert copy.read_bytes() == b"".join(wanted), f"{copy}: the lines differ"


def one(binary, folder, seed):
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    source = folder / f"source-{seed}"
    source.mkdir()
    tables = {}
    shape = random_shape(rng, kind)
    for number in range(int(rng.integers(1, 4))):
        table, ids = random_table(rng, kind, number, shape)
        path = source / f"part-{number}.{ {'stream': 'arrows', 'file': 'arrow'}.get(kind, kind.split('-')[-1])}"
        write(rng, table, path, kind)
        tables[path.name] = (table, ids)
    before = hashes(source)
    every = sorted({own for _, ids in tables.values() for own in ids if own is not None}, key=str)
    chosen = {own for own in every if rng.random() < 0.6} or {every[0]}
    listed = folder / f"list-{seed}.txt"
    listed.write_text("".join(f"{own}\n" for own in sorted(chosen, key=str)))
    rows = {}
    for option in ["--episodes", "--leave-out"]:
        copy = folder / f"copy-{seed}{option}"
        kept = chosen if option == "--episodes" else set(every) - chosen
        options = ["--keep-from", "fail", "--quiet"]
        done = run(binary, "keep", source, "--to", copy, option, listed, *options)
        if not kept:
            assert done.returncode == 3 and not copy.exists(), f"{seed}: {done}"
            rows[option] = 0
            continue
        # Rows of no episode are left out, and the exit code says so.
        nulls = any(own is None for _, ids in tables.values() for own in ids)
        assert done.returncode == int(nulls), f"seed {seed} {kind}: {done}"
        rows[option] = 0
        for name, (_, ids) in tables.items():
            where = f"{kind} seed {seed} {name} {option}"
            mask = [own in kept for own in ids]
            rows[option] += sum(mask)
            if not any(mask):
                assert not (copy / name).exists(), where
                continue
            if kind in ("csv", "jsonl"):
                check_text(source / name, copy / name, kept, ids)
                continue
            old, new = read(source / name, kind), read(copy / name, kind)
            assert without_note(old.schema).equals(without_note(new.schema), check_metadata=True), where
            same_rows(old.filter(pa.array(mask)), new, where)
            if kind.endswith("parquet"):
                same_parquet(source / name, copy / name, where)
                count = duckdb.sql(f"select count(*) from '{copy / name}'").fetchall()[0][0]
                assert count == sum(mask), where
        document = json.loads((copy / "changes.json").read_text())
        assert document["episodes"] == {"of": len(every), "kept": len(kept)}, document["episodes"]
        assert document["frames"]["kept"] == rows[option]
    none = sum(own is None for _, ids in tables.values() for own in ids)
    total = sum(len(ids) for _, ids in tables.values())
    assert rows["--episodes"] + rows["--leave-out"] + none == total, f"{seed}: {rows} of {total}"
    assert hashes(source) == before, f"{seed}: the source changed"
    return kind


def main():
    binary, folder = sys.argv[1], Path(sys.argv[2])
    seen = {}
    for seed in range(int(sys.argv[3]), int(sys.argv[4])):
        kind = one(binary, folder, seed)
        seen[kind] = seen.get(kind, 0) + 1
    print("the copies agree:", ", ".join(f"{kind} {count}" for kind, count in sorted(seen.items())))


if __name__ == "__main__":
    main()
