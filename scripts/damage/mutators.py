"""Ways in which bytes and texts are damaged. Each takes a seeded generator: one seed, one file."""

import re

# Values at which counts, lengths and offsets go wrong.
NUMBERS = [0, 1, -1, 0x7F, 0x80, 0xFF, 0x7FFF, 0xFFFF, 2**24, 2**30, 2**31 - 1, 2**31, 2**32 - 1, 2**33, 2**40, 2**62, 2**63 - 1, -(2**63), -(2**31)]
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
TEXTS = [b"1e308", b"-1e308", b"1e999", b"1e-320", b"NaN", b"null", b"true", b"-1", b"0", b"4294967296", b"9223372036854775807", b"18446744073709551616",
         b"\"\"", b"\"\\u0000\\u001b[31m\"", b"\xff\xfe", b"[", b"{", b"[" * 3000, b"{\"a\":" * 3000, b"x" * 100_000, b"\x00", b"\x1b[2J", b"\n", b"\r", b",", b"\""]


def varint(value):
    """A number as Thrift and Protobuf write it."""
    value &= 2**64 - 1
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes(out + bytes([value]))


def place(rng, data):
    """Somewhere: more often near the end or the beginning, where what describes the rest stands."""
    size = max(1, len(data))
    near = min(size, rng.choice([64, 512, 4096]))
    return rng.choice([rng.randrange(size), size - 1 - rng.randrange(near), rng.randrange(near)])


def flip(rng, data):
    at = place(rng, data)
    data[at] ^= 1 << rng.randrange(8)


def byte(rng, data):
    data[place(rng, data)] = rng.choice([0, 1, 0x7F, 0x80, 0xFF, rng.randrange(256)])


def number(rng, data):
    """A number of two, four or eight bytes, aligned or not."""
    width = rng.choice([2, 4, 8])
    at = place(rng, data)
    at -= rng.choice([at % width, 0])
    value = rng.choice(NUMBERS) + rng.choice([0, 0, 0, 1, -1])
    data[at:at + width] = (value & (1 << 8 * width) - 1).to_bytes(width, "little")


def thrift(rng, data):
    """A number as Thrift writes it, in place of another of about its length."""
    at = place(rng, data)
    value = varint(rng.choice([2 * n if n >= 0 else -2 * n - 1 for n in NUMBERS]))
    old = 1
    while at + old < len(data) and data[at + old - 1] & 0x80 and old < 10:
        old += 1
    data[at:at + rng.choice([old, old, len(value)])] = value


def cut(rng, data):
    del data[rng.randrange(len(data)):]


def drop(rng, data):
    at = place(rng, data)
    del data[at:at + rng.choice([1, 2, 4, 8, 100, rng.randrange(1, 4000)])]


def insert(rng, data):
    at = place(rng, data)
    data[at:at] = rng.randbytes(rng.choice([1, 2, 4, 8, 100]))


def repeat(rng, data):
    at = place(rng, data)
    data[at:at] = data[at:at + rng.choice([4, 16, 200, 5000])] * rng.choice([1, 2, 10])


def fill(rng, data):
    at = place(rng, data)
    length = rng.choice([4, 16, 64, 500])
    data[at:at + length] = bytes([rng.choice([0, 0xFF, 0x5A])]) * len(data[at:at + length])


def noise(rng, data):
    at = place(rng, data)
    length = len(data[at:at + rng.choice([4, 32, 400])])
    data[at:at + length] = rng.randbytes(length)


def move(rng, data):
    at, to = place(rng, data), place(rng, data)
    length = rng.choice([4, 8, 64, 1000])
    data[to:to + length] = bytes(data[at:at + length])


BINARY = [flip, flip, byte, byte, number, number, number, thrift, thrift, cut, drop, insert, repeat, fill, noise, move]


def damaged(rng, data):
    """Bytes with one to four faults."""
    data = bytearray(data)
    for _ in range(rng.choice([1, 1, 1, 2, 2, 3, 4])):
        if data:
            rng.choice(BINARY)(rng, data)
    return bytes(data)


def reworded(rng, text):
    """Text with numbers and tokens replaced, lines doubled or dropped, or damaged as bytes are."""
    for _ in range(rng.choice([1, 1, 2, 3])):
        way = rng.randrange(6)
        numbers = list(NUMBER.finditer(text))
        lines = text.split(b"\n")
        if way <= 1 and numbers:
            found = rng.choice(numbers)
            text = text[:found.start()] + rng.choice(TEXTS) + text[found.end():]
        elif way == 2:
            at = rng.randrange(len(text) + 1)
            text = text[:at] + rng.choice(TEXTS) + text[at:]
        elif way == 3:
            at = rng.randrange(len(lines))
            lines[at:at + 1] = [lines[at]] * rng.choice([0, 2, 50])
            text = b"\n".join(lines)
        elif way == 4:
            one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
            lines[one], lines[other] = lines[other], lines[one]
            text = b"\n".join(lines)
        else:
            text = damaged(rng, text)
    return text
