#!/bin/sh
# Times `tapoff energy` with every breakdown on a year of one-minute data of 30 meters, and its peak resident
# memory. Best of several runs, whole processes.
#
# Needs python3; WORK names the folder for the logs (520 MB), RUNS the number of runs, TAPOFF the program (else
# built with `cargo build --release`).
set -eu

here=$(cd "$(dirname "$0")" && pwd)
project=$(cd "$here/../../.." && pwd)
work=${WORK:-${TMPDIR:-/tmp}/tapoff-peers}
mkdir -p "$work"
if [ -z "${TAPOFF:-}" ]; then
    (cd "$project" && cargo build --release)
    TAPOFF=$project/target/release/tapoff
fi
site=$work/year-of-minutes
if [ ! -f "$site/done" ]; then
    (cd "$project" && cargo run --example year-of-minutes -- "$site")
    touch "$site/done"
fi
exec python3 - "$TAPOFF" "$site" "${RUNS:-3}" <<'PROGRAM'
import os
import sys
import time

tapoff, site, runs = sys.argv[1], sys.argv[2], int(sys.argv[3])
ways = "day week month weekday hour schedule board machine meter phase column:shift".split()
command = [tapoff, "energy", site, "--format", "json", "-o", os.devnull]
for way in ways:
    command += ["--by", way]
for _ in range(runs):
    begun = time.perf_counter()
    child = os.fork()
    if child == 0:
        os.execv(tapoff, command)
    _, status, usage = os.wait4(child, 0)
    if status != 0:
        raise SystemExit("tapoff failed")
    seconds = time.perf_counter() - begun
    print(f"{seconds:6.2f} s  {usage.ru_maxrss / 1024:5.0f} MB  ({usage.ru_utime + usage.ru_stime:.2f} s of cpu)")
PROGRAM
