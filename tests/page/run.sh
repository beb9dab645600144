#!/usr/bin/env bash
# The page in a real browser: builds it, installs what drives the browser, and runs run.mjs. Says why where it cannot.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

skip() {
  echo "$1: skipped"
  exit 0
}
for tool in node npm gzip openssl; do command -v "$tool" >/dev/null || skip "no $tool here"; done
[ -d "$(rustc --print sysroot)/lib/rustlib/wasm32-unknown-unknown" ] || skip "no wasm32-unknown-unknown here (rustup target add wasm32-unknown-unknown)"
browser() {
  if [ -n "${CHROMIUM:-}" ]; then
    echo "$CHROMIUM"
  else
    command -v chromium || command -v chromium-browser || true
  fi
}
if [ -z "$(browser)" ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  apt-get install --yes --no-install-recommends chromium >/dev/null 2>&1 || true
fi
[ -n "$(browser)" ] || skip "no chromium here, and none can be installed (CHROMIUM names one elsewhere)"

folder="${CARGO_TARGET_DIR:-$PWD/target}/page-tests"
mkdir -p "$folder"
cp tests/page/package.json tests/page/run.mjs "$folder"
npm install --prefix "$folder" --no-audit --no-fund --silent || skip "npm installs nothing here"
page="$(src/page/build.sh)"
[ "$(stat --format=%s "$page")" -lt 2000000 ] || { echo "$page has $(stat --format=%s "$page") bytes; 2,000,000 are too many"; exit 1; }
BATCHWRIGHT_PAGE="$page" cargo build --quiet --locked --bin batchwright --features page
node "$folder/run.mjs" "$page" "${CARGO_TARGET_DIR:-$PWD/target}/debug/batchwright" "$(browser)" "$PWD"
