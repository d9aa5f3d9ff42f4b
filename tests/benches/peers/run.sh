#!/bin/sh
# Times whole processes in one go: `tapoff energy` (all of it), and the means over 15 minutes of
# the same 14 columns with three general-purpose tools. Best of several runs; peak resident memory.
#
#   tests/benches/peers/run.sh            log of 3 million rows
#   TEN=1 tests/benches/peers/run.sh      tapoff alone on ten times the rows in the same time
#
# Needs python3; VENV names the environment (made if absent), WORK the folder for the logs (3 million
# rows are 340 MB), RUNS the number of runs, TAPOFF the program (else built with `cargo build --release`).
set -eu

here=$(cd "$(dirname "$0")" && pwd)
project=$(cd "$here/../../.." && pwd)
work=${WORK:-${TMPDIR:-/tmp}/tapoff-peers}
venv=${VENV:-$work/venv}
runs=${RUNS:-3}
mkdir -p "$work"

if [ -z "${TAPOFF:-}" ]; then
    (cd "$project" && cargo build --release)
    TAPOFF=$project/target/release/tapoff
fi
if [ ! -x "$venv/bin/python" ]; then
    python3 -m venv "$venv"
    "$venv/bin/pip" install --quiet --requirement "$here/requirements.txt"
fi
site() { # samples a second
    folder=$work/log-$1
    if [ ! -f "$folder/done" ]; then
        (cd "$project" && cargo run --example long-log -- "$folder" "$1")
        touch "$folder/done"
    fi
}

TAPOFF=$TAPOFF WORK=$work RUNS=$runs VENV=$venv HERE=$here TEN=${TEN:-}
export TAPOFF WORK RUNS VENV HERE TEN
site 1
if [ -n "$TEN" ]; then
    site 10
fi
exec "$venv/bin/python" "$here/measure.py"
