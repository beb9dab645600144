#!/bin/sh
# Makes the computed tables of this folder anew, or with --check compares instead and fails where anything differs.
#   python3 -m venv env && env/bin/pip install -r tests/reference/requirements.txt
#   PYTHON=env/bin/python tests/reference/remake.sh [--check]
# published.csv holds what printed sources say: it is typed, never made.
set -eu
cd "$(dirname "$0")"
fresh=$(mktemp -d)
trap 'rm -rf "$fresh"' EXIT
for script in sums learning yields ratio quantiles sensitivity inventory schedule shops logged mixed survival; do
    "${PYTHON:-python3}" -B "$script.py" "$fresh"
done
if [ "${1:-}" = --check ]; then
    for table in "$fresh"/*.csv; do
        cmp "$table" "$(basename "$table")"
    done
else
    mv "$fresh"/*.csv .
fi
