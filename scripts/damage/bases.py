"""Sound files of every format, small enough that one fault lands where it matters.

Each kind is a folder `good` of files that are audited with the damaged ones, a folder `base` of files
to damage, and how they are handed to the tool.
"""

import dataclasses
import gzip
import json
import pathlib
import shutil
import subprocess
import sys

import numpy
import pyarrow as pa
import pyarrow.csv
import pyarrow.feather
import pyarrow.parquet
import zstandard

FRAMES = 90
SHORT = 64
URDF = '<limit lower="-2.2" upper="2.2" effort="5" velocity="4.7"/>'


@dataclasses.dataclass
class Kind:
    """Files of one format: `how` is folder, judge, rig, baseline, profile or urdf."""

    name: str
    folder: pathlib.Path
    text: bool = False
    how: str = "folder"

    @property
    def good(self):
        return self.folder / "good"

    @property
    def rig(self):
        return self.folder / "rig.parquet"

    @property
    def base(self):
        return self.folder / "base"


def shortened(table, episode, first, frames):
    """Some frames of an episode as another one; the stamps begin where they are."""
    part = table.slice(first, frames)
    return part.set_column(0, pa.field("episode", pa.int64(), False), pa.array([episode] * part.num_rows, pa.int64()))


def scalars(table):
    """A column for each joint instead of lists."""
    names = ["waist", "shoulder", "elbow", "wrist_pitch", "wrist_roll", "jaw"]
    columns = {name: table[name] for name in ("episode", "time", "task")}
    for side in ("follower", "leader"):
        values = numpy.stack(table[side].to_numpy())
        columns |= {f"{side}_{name}": pa.array(values[:, at]) for at, name in enumerate(names)}
    return pa.table(columns)


def structs(table):
    """A struct for each side, whose fields are the joints."""
    flat = scalars(table)
    columns = {name: flat[name] for name in ("episode", "time", "task")}
    for side in ("follower", "leader"):
        names = [name for name in flat.column_names if name.startswith(side)]
        fields = [flat[name].combine_chunks() for name in names]
        columns[side] = pa.StructArray.from_arrays(fields, [name.removeprefix(side + "_") for name in names])
    return pa.table(columns)


def parquet_ways():
    """Codecs, encodings and pages of every kind that the writer has."""
    for codec in ("none", "snappy", "gzip", "zstd", "lz4", "brotli"):
        yield f"{codec}-v1", {"compression": codec}
        yield f"{codec}-v2", {"compression": codec, "data_page_version": "2.0", "use_dictionary": False}
    yield "index", {"write_page_index": True, "write_page_checksum": True, "row_group_size": 20}
    yield "pages", {"compression": "zstd", "data_page_size": 128, "write_batch_size": 8}
    yield "split", {"use_dictionary": False, "use_byte_stream_split": ["time"]}
    yield "delta", {"use_dictionary": False, "column_encoding": {"episode": "DELTA_BINARY_PACKED", "task": "DELTA_BYTE_ARRAY"}}
    yield "lengths", {"use_dictionary": False, "column_encoding": {"task": "DELTA_LENGTH_BYTE_ARRAY"}}


def write_parquet(kind, good, base):
    for name, table in good.items():
        pa.parquet.write_table(table, kind.good / f"{name}.parquet")
    for name, options in parquet_ways():
        if "column_encoding" in options:
            options = options | {"column_encoding": {k: v for k, v in options["column_encoding"].items() if k in base.column_names}}
        pa.parquet.write_table(base, kind.base / f"{name}.parquet", **options)


def write_ipc(kind, good, base, stream):
    ending = "arrows" if stream else "arrow"
    make = pa.ipc.new_stream if stream else pa.ipc.new_file

    def write(path, table, codec):
        with make(path, table.schema, options=pa.ipc.IpcWriteOptions(compression=codec)) as writer:
            writer.write_table(table, max_chunksize=40)

    for name, table in good.items():
        write(kind.good / f"{name}.{ending}", table, None)
    for codec in (None, "lz4", "zstd"):
        write(kind.base / f"{codec}.{ending}", base, codec)
        if not stream:
            packed = base.set_column(base.column_names.index("task"), "task", base["task"].dictionary_encode())
            write(kind.base / f"{codec}-dictionary.{ending}", packed, codec)


def write_text(kind, good, base, ending, text_of, packings=("", "gz", "zst")):
    pack = {"": lambda b: b, "gz": gzip.compress, "zst": zstandard.compress}
    for name, table in good.items():
        (kind.good / f"{name}.{ending}").write_bytes(text_of(table))
    for packing in packings:
        name = f"base.{ending}" + (f".{packing}" if packing else "")
        (kind.base / name).write_bytes(pack[packing](text_of(base)))


def csv_of(table):
    sink = pa.BufferOutputStream()
    pa.csv.write_csv(scalars(table), sink)
    return sink.getvalue().to_pybytes()


def jsonl_of(table):
    return "".join(json.dumps(row) + "\n" for row in table.to_pylist()).encode()


def measurements(binary, folder, good):
    """What an audit of the sound files stores; once more without sums, as another program writes it."""
    source = measured(binary, good, folder / "measured.parquet")
    table, meta = pa.parquet.read_table(source), pa.parquet.read_metadata(source).metadata
    meta = {key: value for key, value in meta.items() if key != b"teleassay.sums" and key != b"ARROW:schema"}
    plain = table.replace_schema_metadata(meta)
    return source, plain


def measured(binary, good, path):
    """An audit of sound files; its rig holds when damaged ones lie in the same folder."""
    profile = good.parent.parent / "demo" / "teleassay.toml"
    run(binary, "audit", good, "--quiet", "--fail-on=never", f"--profile={profile}", f"--out-measurements={path}")
    return path


def run(*words):
    subprocess.run([str(word) for word in words], check=True, stdout=subprocess.DEVNULL)


def layouts(here, out, demo):
    """The other formats, by the writers that the tests use."""
    out.mkdir()
    table = out / "table.parquet"
    pa.parquet.write_table(pa.concat_tables([scalars(t) for t in demo]), table)
    run(sys.executable, here.parents[2] / "tests/layouts/files.py", table, out)
    for folder in ("npz", "npz-vectors", "npy", "mcap-cdr", "mcap-json", "mcap-protobuf"):
        yield folder, sorted((out / folder).iterdir())


def make(binary, out):
    """All kinds, with their files on disk."""
    here = pathlib.Path(__file__).resolve()
    shutil.rmtree(out, ignore_errors=True)
    out.mkdir(parents=True)
    run(binary, "demo", out / "demo", "--episodes=3", "--layout=file-per-episode")
    demo = [pa.parquet.read_table(out / "demo" / f"episode-{n}.parquet") for n in range(3)]
    # Ids that no damage makes: rows of one id are one episode, whatever file they are in.
    good = {f"a-{n}": shortened(demo[n], 0x5EED_1111_2222_0000 + n, 60, 3 * FRAMES) for n in (0, 1)}
    base = shortened(demo[2], 7, 90, SHORT)
    kinds = []

    def kind(name, **more):
        made = Kind(name, out / name, **more)
        made.good.mkdir(parents=True, exist_ok=True)
        made.base.mkdir(exist_ok=True)
        kinds.append(made)
        return made

    for name, layout in (("parquet-lists", lambda t: t), ("parquet-scalars", scalars), ("parquet-structs", structs)):
        write_parquet(kind(name), {n: layout(t) for n, t in good.items()}, layout(base))
    # Without the column each file is an episode of its own.
    bare = lambda table: table.drop_columns("episode")  # noqa: E731
    write_parquet(kind("parquet-bare"), {n: bare(scalars(t)) for n, t in good.items()}, bare(scalars(base)))
    write_ipc(kind("ipc-file"), {n: bare(t) for n, t in good.items()}, bare(base), False)
    write_ipc(kind("ipc-stream"), good, base, True)
    write_text(kind("csv", text=True), good, base, "csv", csv_of)
    write_text(kind("jsonl", text=True), {n: bare(t) for n, t in good.items()}, bare(base), "jsonl", jsonl_of)
    parts = [good["a-0"], good["a-1"], base]
    for name, files in layouts(here, out / "layouts", parts):
        made = kind(name)
        for at, file in enumerate(files):
            folder = made.base if at == 2 else made.good
            (folder / f"{'abc'[at]}-{file.name}").write_bytes(file.read_bytes())
    for made in kinds:
        measured(binary, made.good, made.rig)
    source, plain = measurements(binary, out, out / "parquet-lists" / "good")
    for how in ("judge", "rig", "baseline"):
        made = kind(f"measurements-{how}", how=how)
        (made.base / "own.parquet").write_bytes(source.read_bytes())
        pa.parquet.write_table(plain, made.base / "unsummed.parquet", compression="zstd")
        pa.parquet.write_table(plain, made.base / "plain.parquet", compression="none", use_dictionary=False)
    made = kind("profile", how="profile", text=True)
    (made.base / "teleassay.toml").write_bytes((out / "demo" / "teleassay.toml").read_bytes())
    (made.base / "limits.toml").write_bytes(b'[columns]\nstate = ["follower"]\ntime = "time"\n[checks.tracking-lag]\nenabled = true\n[rig]\nrate_hz = 30.0\n')
    made = kind("urdf", how="urdf", text=True)
    joints = "".join(f'<joint name="{n}" type="revolute"><parent link="a"/><child link="b"/>{URDF}</joint>\n' for n in ("waist", "elbow"))
    (made.base / "arm.urdf").write_text(f'<?xml version="1.0"?>\n<robot name="arm"><link name="a"/><link name="b"/>\n{joints}</robot>\n')
    return kinds
