#!/usr/bin/env bash
# Writes every kind of output to a disk of one megabyte. Needs the right to mount one.
#   disk.sh BINARY
set -euo pipefail
binary=$(realpath "$1")
work=$(mktemp -d)
disk=$work/disk
mkdir "$disk"
trap 'umount "$disk" 2>/dev/null || true; rm -rf "$work"' EXIT
mount -t tmpfs -o size=1m tmpfs "$disk"
"$binary" demo "$work/s" --episodes 400 >/dev/null
# Another's file takes most of it.
filler=$disk/filler
head -c 960000 /dev/zero >"$filler"
failed=0
# what NAME COMMAND...: must exit 2, name the file, and leave nothing on the disk.
what() {
  local name=$1 code=0 said
  shift
  said=$("$binary" "$@" 2>&1 >/dev/null) || code=$?
  if [ $code != 2 ] || [[ $said != *"$name"* ]] || [ "$(cd "$disk" && find . -type f)" != ./filler ]; then
    echo "$name: exit $code: $said; left: $(ls -A "$disk")"
    failed=1
  fi
  find "$disk" -mindepth 1 ! -name filler -delete
}
audit=(audit "$work/s" --quiet --fail-on never --json-detail full)
what r.json "${audit[@]}" --out-json "$disk/r.json"
what r.html "${audit[@]}" --out-html "$disk/r.html"
what m.parquet "${audit[@]}" --out-measurements "$disk/m.parquet"
what m.csv "${audit[@]}" --out-measurements "$disk/m.csv"
what copy keep "$work/s" --to "$disk/copy"
what demo demo "$disk/demo" --episodes 400
[ $failed = 0 ] && echo "each output that does not fit on a disk fails with its name"
exit $failed
