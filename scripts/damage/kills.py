"""Ends commands at random moments and looks at what they leave. See scripts/soak."""

import argparse
import collections
import hashlib
import json
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as tree

SIGNALS = {signal.SIGKILL: -9, signal.SIGTERM: 143, signal.SIGINT: 130}
BEFORE = b"what was there before"


def whole(path):
    """Whether a file is all that it should be, by its ending."""
    data = path.read_bytes()
    match path.suffix:
        case ".json":
            json.loads(data)
            return True
        case ".xml":
            tree.fromstring(data)
            return True
        case ".html":
            return data.rstrip().endswith(b"</html>")
        case ".parquet":
            return data[:4] == data[-4:] == b"PAR1"
        case ".arrow":
            return data[:6] == b"ARROW1" == data[-6:]
        case _:
            return data.endswith(b"\n")


def digests(folder):
    return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.rglob("*")) if p.is_file()}


def commands(out, data, measured):
    """Each command with a file or a folder that it makes."""
    audit = ["audit", str(data), "--quiet", "--fail-on=never", "--json-detail=full"]
    outputs = {"--out-json": "r.json", "--out-html": "r.html", "--out-junit": "r.xml", "--out-measurements": "m.parquet",
               "--out-findings": "f.parquet", "--out-keep-list": "k.csv"}
    for option, name in outputs.items():
        yield [*audit, option, str(out / name)], out / name
    yield ["judge", str(measured), "--quiet", "--fail-on=never", "--out-json", str(out / "j.json")], out / "j.json"
    yield ["judge", str(measured), "--quiet", "--fail-on=never", "--out-html", str(out / "j.html")], out / "j.html"
    yield ["trace", str(data), "--episode", "3", "--out-html", str(out / "t.html")], out / "t.html"
    yield ["keep", str(data), "--to", str(out / "copy"), "--quiet"], out / "copy"
    yield ["demo", str(out / "demo"), "--episodes", "40"], out / "demo"
    yield ["demo", str(out / "demo"), "--episodes", "40", "--layout", "ipc-file"], out / "demo"


class Trials:
    def __init__(self, args, work):
        self.binary, self.work = os.path.abspath(args.binary), work
        self.rng = random.Random(args.seed)
        self.data, self.measured = work / "data", work / "measured.parquet"
        subprocess.run([self.binary, "demo", self.data, "--episodes=120"], check=True, stdout=subprocess.DEVNULL)
        subprocess.run([self.binary, "audit", self.data, "--quiet", "--fail-on=never", f"--out-measurements={self.measured}"], check=True)
        self.sources = digests(self.data)
        self.seconds = {}

    def run(self, words, tmp, after=None, sent=None):
        child = subprocess.Popen([self.binary, *words], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=os.environ | {"TMPDIR": str(tmp)})
        if after is not None:
            time.sleep(after)
            child.send_signal(sent)
        err = child.communicate(timeout=60)[1].decode()
        return child.returncode, err

    def one(self):
        out, tmp = self.work / "out", self.work / "tmp"
        shutil.rmtree(out, ignore_errors=True)
        shutil.rmtree(tmp, ignore_errors=True)
        out.mkdir()
        tmp.mkdir()
        words, made = self.rng.choice(list(commands(out, self.data, self.measured)))
        key = tuple(word.split("/")[-1] for word in words)
        if key not in self.seconds:
            began = time.monotonic()
            code, err = self.run(words, tmp)
            if code not in (0, 1):
                return f"{key}: exit {code}: {err}"
            self.seconds[key] = time.monotonic() - began
            return None
        replaced = bool(made.suffix) and self.rng.random() < 0.5
        if replaced:
            made.write_bytes(BEFORE)
        sent = self.rng.choice(list(SIGNALS))
        code, err = self.run(words, tmp, self.rng.random() * self.seconds[key] * 1.1, sent)
        where = f"{key} by {sent.name}, exit {code}"
        if code not in (0, 1, SIGNALS[sent]):
            # A signal before the program listens ends it as it always does.
            if code != -sent:
                return f"{where}: {err}"
        if digests(self.data) != self.sources:
            return f"{where}: the sources changed"
        files = [p for p in out.rglob("*") if p.is_file()]
        hidden = [p for p in files if any(part.startswith(".") for part in p.relative_to(out).parts)]
        left = [p.name for p in [*hidden, *tmp.iterdir()]]
        if left and sent != signal.SIGKILL:
            return f"{where}: left {left}"
        for path in files:
            if path in hidden or path.read_bytes() == BEFORE:
                continue
            try:
                sound = whole(path)
            except Exception as error:  # noqa: BLE001: whatever a parser says, the file is not whole
                sound = str(error)
            if sound is not True:
                return f"{where}: {path.name} is not whole: {sound}"
        if made.name == "copy" and made.exists() and not (made / "changes.json").exists():
            return f"{where}: a copy without its list of changes"
        if replaced and not made.exists():
            return f"{where}: what was there before is gone"
        return None


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary")
    parser.add_argument("--count", type=int, default=500)
    parser.add_argument("--seed", default="1")
    args = parser.parse_args()
    wrong = collections.Counter()
    with tempfile.TemporaryDirectory(prefix="teleassay-kills-") as folder:
        trials = Trials(args, pathlib.Path(folder))
        for _ in range(args.count):
            what = trials.one()
            if what:
                wrong[what] += 1
    for what, count in wrong.most_common():
        print(f"{count} x {what}")
    print(f"{args.count} times ended, {wrong.total()} with something wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
