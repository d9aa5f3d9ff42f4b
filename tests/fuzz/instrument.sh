#!/bin/sh
# Stands in front of the compiler (RUSTC_WRAPPER): what reads is compiled so that the fuzzer sees
# which way a run takes. The dataframe and what only draws tell nothing about reading. A crate that
# a procedural macro is built from as well (glob) cannot be compiled so: the macro would not load.
compiler=$1
shift
name=
before=
for word in "$@"; do
  [ "$before" = --crate-name ] && name=$word
  before=$word
done
case $name in
  tapoff | baseline | calendar | electrical | formats | message | metering | site | tariff | units | user_tables | annotate_snippets | calamine | chrono | csv | csv_core | encoding_rs | encoding_rs_io | fast_float2 | \
    flate2 | lz4_flex | parquet | quick_xml | snap | strsim | toml | toml_datetime | toml_parser | zip | zlib_rs)
    exec "$compiler" "$@" -Cpasses=sancov-module -Ccodegen-units=1 \
      -Cllvm-args=-sanitizer-coverage-level=4 \
      -Cllvm-args=-sanitizer-coverage-inline-8bit-counters \
      -Cllvm-args=-sanitizer-coverage-pc-table \
      -Cllvm-args=-sanitizer-coverage-trace-compares \
      -Cllvm-args=-simplifycfg-branch-fold-threshold=0
    ;;
  *) exec "$compiler" "$@" ;;
esac
