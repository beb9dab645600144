#!/usr/bin/env bash
# The whole program as one HTML file: the library for the browser, packed, with the page around it. Says where it is, and writes the library
# for browsers without vectors beside it; `cargo build --features page` with BATCHWRIGHT_PAGE set to that puts both into the program. Needs
# the target wasm32-unknown-unknown (rustup target add wasm32-unknown-unknown), zstd, base64 and openssl.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."

target="${CARGO_TARGET_DIR:-$PWD/target}/page"
host="$(rustc -vV | sed -n 's/^host: //p')"
tools="$(rustc --print sysroot)/lib/rustlib/$host/bin"
mkdir -p "$target"
# The drawing library brings bindings to a browser's own drawing, which nothing here calls. Not exported, they fall away.
cat >"$target/linker" <<END
#!/usr/bin/env bash
unused='^(--export=)?"?__(wb|externref)'
kept=()
for arg; do
  if [[ "\$arg" =~ \$unused ]]; then
    # The word before was --export.
    [[ "\$arg" = --export=* ]] || unset "kept[-1]"
  elif [[ "\$arg" = @* ]]; then
    awk -v unused="\$unused" '\$0 !~ unused { if (held != "") print held; held = \$0; next } held == "--export" || held == "\"--export\"" { held = "" } END { if (held != "") print held }' "\${arg#@}" >"\${arg#@}.kept"
    kept+=("\$arg.kept")
  else
    kept+=("\$arg")
  fi
done
exec "$tools/rust-lld" "\${kept[@]}"
END
chmod +x "$target/linker"
export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER="$target/linker"

# No path of this machine stands in it.
paths="--remap-path-prefix=${CARGO_HOME:-$HOME/.cargo}/registry/src/=/ --remap-path-prefix=$PWD=/batchwright"
work="$target/put-together"
mkdir -p "$work"
# The library as the page carries it: NAME PROFILE RUSTFLAGS.
library() {
  RUSTFLAGS="$3 $paths" cargo build --quiet --locked -p batchwright-page --profile "$2" --target wasm32-unknown-unknown --target-dir "$target"
  # Nor is the description of the bindings of any use.
  LD_LIBRARY_PATH="$(rustc --print sysroot)/lib" "$tools/rust-objcopy" --remove-section=__wasm_bindgen_unstable \
    "$target/wasm32-unknown-unknown/$2/batchwright_page.wasm" "$work/library.wasm"
  packed "$work/library.wasm" >"$work/$1"
}
# As src/page/screen/packed.js reads it: packed by zstd; how many bytes, then two digits for 13 bits.
packed() {
  zstd --ultra -22 --no-check --quiet --force "$1" -o "$1.zst"
  printf '%s ' "$(stat --format=%s "$1.zst")"
  od -An -v -tu1 -w1 "$1.zst" | LC_ALL=C awk '
    BEGIN { for (code = 33; code < 127; code++) if (code != 34 && code != 38 && code != 60) digit[count++] = sprintf("%c", code); power = 1 }
    function put(value) { printf "%s%s", digit[int(value / 91)], digit[value % 91] }
    {
      bits += $1 * power
      power *= 256
      if (power >= 8192) { put(bits % 8192); bits = int(bits / 8192); power /= 8192 }
    }
    END { if (power > 1) put(bits) }'
}
library PLAIN page-plain ""
library ENGINE page "-C target-feature=+simd128"

screen=src/page/screen
base64 --wrap=0 $screen/icon.svg >"$work/ICON"
cat $screen/worker.js >"$work/WORKER"
cat $screen/page.css src/render/web/charts.css >"$work/STYLE"
# Lines of comment, empty ones and the spaces that lines begin with stay in the sources; no text there goes over several lines.
bare() { awk '/^ *\/\*\*/ { comment = 1 } !comment && !/^ *(\/\/|$)/ { sub(/^ */, ""); print } /\*\/$/ { comment = 0 }' "$1"; }
{
  printf '"use strict";\nconst decompress = (() => {\n/*\n%s\n*/\n' "$(cat $screen/fzstd/LICENSE.txt)"
  bare $screen/fzstd/index.mjs | sed '/^export {/d; s/^export //'
  printf 'return decompress;\n})();\n'
  for part in packed start; do bare "$screen/$part.js"; done
} >"$work/START"
{
  printf '(() => {\n"use strict";\n'
  for part in dom amounts order scale engine rules logs worklog clock selling shelf desk questions reading begin answers figures paper file page; do bare "$screen/$part.js"; done
  printf '})();\n'
} >"$work/SCRIPTS"
packed "$work/SCRIPTS" >"$work/PACKED"
for part in START SCRIPTS STYLE; do openssl dgst -sha256 -binary "$work/$part" | base64 --wrap=0 >"$work/${part}_HASH"; done

sed -n 's/^version = "\(.*\)"/\1/p' Cargo.toml | head -1 | tr -d '\n' >"$work/VERSION"

# Puts the parts into the page.
awk -v work="$work" '
  function whole(name,   line, text, first) {
    first = 1
    while ((getline line < (work "/" name)) > 0) { text = text (first ? "" : "\n") line; first = 0 }
    close(work "/" name)
    return text (name == "START" || name == "STYLE" ? "\n" : "")
  }
  {
    out = ""
    while (match($0, /@[A-Z_]+@/)) {
      out = out substr($0, 1, RSTART - 1) whole(substr($0, RSTART + 1, RLENGTH - 2))
      $0 = substr($0, RSTART + RLENGTH)
    }
    print out $0
  }' $screen/page.html >"$target/bench.html"
cp "$work/PLAIN" "$target/bench.html.plain"
echo "$target/bench.html"
