#!/usr/bin/env bash
# The page in a real browser: builds it, installs what drives the browser, and runs run.mjs. Says why where it cannot.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

skip() {
  echo "$1: skipped"
  exit 0
}
# What Debian has can be installed where this is allowed.
install() {
  [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null || return 0
  export DEBIAN_FRONTEND=noninteractive
  apt-get install --yes --no-install-recommends "$@" >/dev/null 2>&1 || { apt-get update && apt-get install --yes --no-install-recommends "$@"; } >/dev/null 2>&1 || true
}
for tool in node:nodejs npm:npm zstd:zstd openssl:openssl; do
  command -v "${tool%:*}" >/dev/null || install "${tool#*:}"
  command -v "${tool%:*}" >/dev/null || skip "no ${tool%:*} here, and none can be installed"
done
wasm="$(rustc --print sysroot)/lib/rustlib/wasm32-unknown-unknown"
[ -d "$wasm" ] || rustup target add wasm32-unknown-unknown 2>/dev/null || true
[ -d "$wasm" ] || skip "no wasm32-unknown-unknown here, and rustup cannot add it"
browser() {
  if [ -n "${CHROMIUM:-}" ]; then
    echo "$CHROMIUM"
  else
    command -v chromium || command -v chromium-browser || true
  fi
}
[ -n "$(browser)" ] || install chromium
# What is printed is counted in these fonts.
[ -e /usr/share/fonts/truetype/dejavu/DejaVuSansCondensed.ttf ] || install fonts-dejavu-core fonts-dejavu-extra
# Printed pages are looked at with these.
command -v pdftoppm >/dev/null || install poppler-utils
[ -n "$(browser)" ] || skip "no chromium here, and none can be installed (CHROMIUM names one elsewhere)"

folder="${CARGO_TARGET_DIR:-$PWD/target}/page-tests"
mkdir -p "$folder"
cp tests/page/package.json tests/page/*.mjs "$folder"
npm install --prefix "$folder" --no-audit --no-fund --silent || skip "npm can install nothing here"
page="$(src/page/build.sh)"
[ "$(stat --format=%s "$page")" -lt 2000000 ] || { echo "$page has $(stat --format=%s "$page") bytes; 2,000,000 are too many"; exit 1; }
BATCHWRIGHT_PAGE="$page" cargo build --quiet --locked --bin batchwright --features page
node "$folder/run.mjs" "$page" "${CARGO_TARGET_DIR:-$PWD/target}/debug/batchwright" "$(browser)" "$PWD"
node "$folder/print.mjs" "${CARGO_TARGET_DIR:-$PWD/target}/debug/batchwright" "$(browser)" "$PWD"
