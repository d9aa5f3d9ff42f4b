#!/bin/bash
# Fuzzes one target for so many minutes of processor time: tests/fuzz/run.sh TARGET [MINUTES].
# With 0 minutes it runs what is in its corpus, once. What it finds lies in tests/fuzz/artifacts.
set -euo pipefail
cd "$(dirname "$0")"
target=$1
minutes=${2:-10}
export RUSTC_WRAPPER="$PWD/instrument.sh"
export RAYON_NUM_THREADS=1
cargo build --quiet --bins
[ -d corpus ] || target/debug/seeds
case $target in
  site_file | workbook) options="-max_len=8192" ;;
  parquet_log) options="-max_len=16384" ;;
  *) options="-max_len=4096" ;;
esac
words=words/$target.dict
[ "$target" = gzip_log ] && words=words/text_log.dict
[ -f "$words" ] || words=words/interval_file.dict
[ "$minutes" = 0 ] && options="$options -runs=0"
mkdir -p "artifacts/$target"
# The sizes asked for at once are bounded as well: a file that lies about them is a find.
# shellcheck disable=SC2086
target/debug/"$target" "corpus/$target" -dict="$words" -artifact_prefix="artifacts/$target/" \
  -timeout=20 -rss_limit_mb=2048 -malloc_limit_mb=1024 -print_final_stats=1 $options &
fuzzer=$!
trap 'kill -INT $fuzzer' INT TERM
# Minutes of the processor, not of the clock: a busy machine must not make a run shorter than it says.
enough=$((minutes * 60 * $(getconf CLK_TCK)))
while used=$(awk '{ sub(/.*\) /, ""); print $12 + $13 }' "/proc/$fuzzer/stat" 2>/dev/null); do
  [ "$minutes" -gt 0 ] && [ "${used:-0}" -ge "$enough" ] && kill -INT "$fuzzer" && break
  sleep 1
done
status=0
wait "$fuzzer" || status=$?
# Interrupted as wanted, libFuzzer says 72.
[ "$status" = 72 ] || exit "$status"
