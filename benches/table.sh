#!/bin/sh
# Measures everything side by side and prints one table of ratios. Needs Python 3.11 or later for the array code; without
# it those rows are left out. Usage: sh benches/table.sh [rounds]
set -eu
cd "$(dirname "$0")/.."
venv="${CARGO_TARGET_DIR:-target}/bench-python"
numpy=$(sed -n 's/^# dependencies = \["\(.*\)"\]$/\1/p' benches/array_sweep.py)
if command -v python3 >/dev/null; then
    [ -x "$venv/bin/python" ] || python3 -m venv "$venv"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check "$numpy"
    BENCH_PYTHON="$venv/bin/python"
    export BENCH_PYTHON
fi
# Built before anything is timed.
cargo bench --quiet --bench table --no-run
cat <<END
# Speed, as measured

Made by \`sh benches/table.sh $* > benches/table.md\` on a machine that does nothing else; medians of interleaved rounds. A piece-step is one
piece of the largest batch at one step in one trial. *Plain* is ten triangular steps, sizes 1 to 100, 20,000 trials; *everything* adds
pace, rounds, learning, redo and spoil at every step.

END
echo "Measured on $(date +%Y-%m-%d)."
cargo bench --quiet --bench table -- "$@"
