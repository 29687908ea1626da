"""Makes tables out of the demonstration: one with hostile names, one of 10,000 episodes."""

import sys
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

HOSTILE = [
    "</script><script>document.title='owned'</script>",
    "\"quotes\" & 'more' <b>bold</b>",
    "control\x07\x1b[31m\x00 characters",
    "long " + "x" * 300,
    "=1+1",
    "--> <!-- {{ sentence }}",
]
EPISODES = 10_000


def main(folder, hostile, many):
    table = pa.concat_tables([pq.read_table(p) for p in sorted(Path(folder).glob("*.parquet"))])
    name = next(n for n in table.column_names if n in ("episode", "run", "take"))
    at = table.column_names.index(name)
    ids = pc.unique(table[name])

    chosen = table.filter(pc.is_in(table[name], value_set=ids.slice(0, len(HOSTILE))))
    place = pc.index_in(chosen[name], value_set=ids)
    names = pa.array(HOSTILE).take(place.combine_chunks())
    pq.write_table(chosen.set_column(at, name, names), hostile)

    place = pc.cast(pc.index_in(table[name], value_set=ids), pa.int64())
    with pq.ParquetWriter(many, table.set_column(at, name, place).schema) as writer:
        for copy in range(-(-EPISODES // len(ids))):
            shifted = pc.add(place, copy * len(ids))
            part = table.set_column(at, name, shifted)
            writer.write_table(part.filter(pc.less(part[name], EPISODES)))


main(*sys.argv[1:])
