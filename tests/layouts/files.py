"""One file for each episode, in the formats whose reference writers the package registry has.

Usage: files.py TABLE FOLDER. TABLE is Parquet with one column a joint.
"""

import json
import pathlib
import sys

import numpy
import pyarrow as pa
import pyarrow.parquet
from google.protobuf import descriptor_pb2, descriptor_pool, message_factory
from mcap.writer import CompressionType, Writer
from mcap_protobuf.writer import Writer as ProtobufWriter
from mcap_ros2.writer import Writer as CdrWriter

# The message's own definition, with those that it contains.
JOINT_STATE = """\
std_msgs/Header header
string[] name
float64[] position
float64[] velocity
float64[] effort
================================================================================
MSG: std_msgs/Header
builtin_interfaces/Time stamp
string frame_id
================================================================================
MSG: builtin_interfaces/Time
int32 sec
uint32 nanosec
"""
SIDES = ("follower", "leader")


def message_class():
    """A message of joints, described at run time."""
    file = descriptor_pb2.FileDescriptorProto(name="joints.proto", package="nursery", syntax="proto3")
    kinds = descriptor_pb2.FieldDescriptorProto
    message = file.message_type.add(name="Joints")
    fields = (("stamp_ns", kinds.TYPE_INT64, kinds.LABEL_OPTIONAL), ("name", kinds.TYPE_STRING, kinds.LABEL_REPEATED))
    for number, (name, kind, label) in enumerate(fields + (("position", kinds.TYPE_DOUBLE, kinds.LABEL_REPEATED),), 1):
        message.field.add(name="stamp" if name == "stamp_ns" else name, number=number, type=kind, label=label)
    pool = descriptor_pool.DescriptorPool()
    pool.Add(file)
    return message_factory.GetMessageClass(pool.FindMessageTypeByName("nursery.Joints"))


def write(table, out, name):
    """Writes one episode in every format."""
    stamps = (numpy.round(table["time"] * 1e9)).astype(numpy.int64) + 1_700_000_000_000_000_000
    joints = [key.removeprefix("follower_") for key in table if key.startswith("follower_")]
    columns = {f"{side}_{joint}": table[f"{side}_{joint}"] for side in SIDES for joint in joints}
    values = {side: numpy.stack([columns[f"{side}_{j}"] for j in joints], axis=1) for side in SIDES}

    def place(folder, ending):
        (out / folder).mkdir(exist_ok=True)
        return out / folder / f"{name}.{ending}"

    stamp = pa.array(stamps, pa.timestamp("ns"))
    pa.parquet.write_table(pa.table({"stamp": stamp, **columns}), place("parquet", "parquet"))
    narrow = {
        side: pa.FixedSizeListArray.from_arrays(pa.array(v.astype("f4").ravel()), len(joints))
        for side, v in values.items()
    }
    pa.parquet.write_table(pa.table({"stamp": stamp, **narrow}), place("parquet-vectors", "parquet"))

    dates = stamps.astype("datetime64[ns]")
    numpy.savez(place("npz", "npz"), stamp=dates, rate=30, images=numpy.zeros((len(dates), 2, 2), "u1"), **columns)
    # Big-endian, column after column, packed.
    big = {side: numpy.asfortranarray(v.astype(">f4")) for side, v in values.items()}
    numpy.savez_compressed(place("npz-vectors", "npz"), stamp=dates, **big)
    rows = numpy.empty(len(dates), [("stamp", "<M8[ns]")] + [(key, "<f8") for key in columns])
    rows["stamp"] = dates
    for key, column in columns.items():
        rows[key] = column
    numpy.save(place("npy", "npy"), rows)

    with open(place("mcap-cdr", "mcap"), "wb") as file:
        writer = CdrWriter(file)
        schema = writer.register_msgdef("sensor_msgs/msg/JointState", JOINT_STATE)
        for row, when in enumerate(stamps.tolist()):
            header = {"stamp": {"sec": when // 10**9, "nanosec": when % 10**9}, "frame_id": "base"}
            for side in SIDES:
                message = {"header": header, "name": joints, "position": values[side][row].tolist(), "velocity": [], "effort": []}
                writer.write_message(f"/{side}/joint_states", schema, message, log_time=when + 2_000_000)
        writer.finish()

    with open(place("mcap-json", "mcap"), "wb") as file:
        writer = Writer(file, compression=CompressionType.LZ4)
        writer.start()
        schema = writer.register_schema("joints", "jsonschema", b"{}")
        channels = {side: writer.register_channel(f"/{side}", "json", schema) for side in SIDES}
        for row, when in enumerate(stamps.tolist()):
            for side, channel in channels.items():
                data = {"stamp": {"sec": when // 10**9, "nsec": when % 10**9}, "name": joints, "position": values[side][row].tolist()}
                writer.add_message(channel, when, json.dumps(data).encode(), when)
        writer.finish()

    with open(place("mcap-protobuf", "mcap"), "wb") as file:
        writer = ProtobufWriter(file, compression=CompressionType.NONE)
        message = message_class()
        for row, when in enumerate(stamps.tolist()):
            for side in SIDES:
                data = message(stamp=when, name=joints, position=values[side][row].tolist())
                writer.write_message(f"/{side}/joints", data, log_time=when, publish_time=when)
        writer.finish()


def main():
    source, out = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    table = pa.parquet.read_table(source)
    episodes = table["episode"].to_numpy()
    for episode in sorted(set(episodes.tolist())):
        rows = table.filter(pa.array(episodes == episode))
        write({key: rows[key].to_numpy() for key in rows.column_names if key != "episode"}, out, f"episode-{episode}")


main()
