#!/usr/bin/env python3
"""What the program is made of: its libraries' licences, sources, versions and known faults, and a bill of materials.

    .ci/supply.py check                    licences, sources, duplicates, Rust versions; offline
    .ci/supply.py check --advisories DIR   also against a copy of the RustSec advisory database in DIR
    .ci/supply.py sbom > batchwright.cdx.json

A bill of materials is CycloneDX 1.5 (ECMA-424) of what goes into the program, without what only tests and measurements need. What cannot be
checked offline is said: advisories without a copy of their database, and whether a version was withdrawn.
"""

import argparse
import hashlib
import json
import pathlib
import re
import subprocess
import sys
import tomllib

ROOT = pathlib.Path(__file__).resolve().parents[1]
# Licences under which the program may be handed out as MIT; each asks at most that its text goes with it.
ALLOWED = {"MIT", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "0BSD", "Zlib", "Unlicense", "CC0-1.0",
           "MIT-0", "BSL-1.0", "Unicode-3.0", "ISC"}
# Two versions of one library, and why there is nothing to do about it here.
TWICE = {
    "miniz_oxide": "the PNG writer and the workbook writer have not moved to one version",
    "syn": "used by derive macros while building; not in the program",
}


def metadata():
    call = ["cargo", "metadata", "--format-version", "1", "--locked", "--offline", "--all-features"]
    return json.loads(subprocess.run(call, cwd=ROOT, capture_output=True, text=True, check=True).stdout)


def allowed(expression):
    """Whether an SPDX expression can be met by allowed licences. `/` is an old way to write OR."""
    tokens = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR "))
    at = 0

    def term():
        nonlocal at
        if tokens[at] == "(":
            at += 1
            value = either()
            at += 1
            return value
        name = tokens[at]
        at += 1
        if at < len(tokens) and tokens[at] == "WITH":
            name += f" WITH {tokens[at + 1]}"
            at += 2
        return name in ALLOWED

    def both():
        nonlocal at
        value = term()
        while at < len(tokens) and tokens[at] == "AND":
            at += 1
            value = term() and value
        return value

    def either():
        nonlocal at
        value = both()
        while at < len(tokens) and tokens[at] == "OR":
            at += 1
            value = both() or value
        return value

    return either()


def version(text):
    core, _, pre = text.split("+")[0].partition("-")
    numbers = [int(n) for n in core.split(".")] + [0, 0]
    # A version before its release is below it.
    return (*numbers[:3], pre == "", pre)


def within(found, wanted):
    """Whether a version lies in a range of an advisory: `>= 1.2, < 1.3`, `^1.2`, `= 1`."""
    for part in wanted.split(","):
        sign, bound = re.fullmatch(r"\s*(>=|<=|>|<|=|\^|~)?\s*(\S+)\s*", part).groups()
        a, b = version(found), version(bound)
        if sign in ("^", None):
            first = next((k for k in range(3) if b[k] != 0), 2)
            fits = a >= b and a[: first + 1] == b[: first + 1]
        elif sign == "~":
            fits = a >= b and a[:2] == b[:2]
        else:
            fits = {">=": a >= b, "<=": a <= b, ">": a > b, "<": a < b, "=": a == b}[sign]
        if not fits:
            return False
    return True


def advisories(folder):
    for path in sorted(pathlib.Path(folder).glob("crates/*/*.md")):
        found = re.search(r"```toml\n(.*?)```", path.read_text(encoding="utf-8"), re.S)
        if found:
            yield tomllib.loads(found[1])


def check(arguments):
    packages = metadata()["packages"]
    lock = {(p["name"], p["version"]): p for p in tomllib.loads((ROOT / "Cargo.lock").read_text(encoding="utf-8"))["package"]}
    ours = next(p for p in packages if p["name"] == "batchwright")
    wrong, versions = [], {}
    for p in packages:
        name = f"{p['name']} {p['version']}"
        versions.setdefault(p["name"], []).append(p["version"])
        if not p["license"] or not allowed(p["license"]):
            wrong.append(f"{name}: the licence {p['license']!r} is not among those that may go with the program")
        if p["source"] is None:
            continue
        if p["source"] != "registry+https://github.com/rust-lang/crates.io-index":
            wrong.append(f"{name}: comes from {p['source']} and not from the registry")
        if "checksum" not in lock.get((p["name"], p["version"]), {}):
            wrong.append(f"{name}: has no checksum in Cargo.lock")
        if p["rust_version"] and version(p["rust_version"]) > version(ours["rust_version"]):
            wrong.append(f"{name}: needs Rust {p['rust_version']}, and we promise {ours['rust_version']}")
    for name, several in versions.items():
        if len(several) > 1 and name not in TWICE:
            wrong.append(f"{name}: two versions, {', '.join(sorted(several))}; take one, or say why not in .ci/supply.py")
    if arguments.advisories:
        count = 0
        for a in advisories(arguments.advisories):
            count += 1
            known, about = a.get("versions", {}), a["advisory"]
            for found in versions.get(about["package"], []):
                safe = [*known.get("patched", []), *known.get("unaffected", [])]
                if "withdrawn" not in about and not any(within(found, range) for range in safe):
                    wrong.append(f"{about['package']} {found}: {about['id']}")
        print(f"{count} advisories looked through")
    else:
        print("advisories: not looked at, as there is no copy of their database here (--advisories DIR)")
    print(f"{len(packages)} packages, {sum(len(v) > 1 for v in versions.values())} in two versions with a reason; "
          "whether a version was withdrawn is not looked up")
    for line in wrong:
        print(line)
    return 1 if wrong else 0


def sbom(_):
    m = metadata()
    packages = {p["id"]: p for p in m["packages"]}
    nodes = {n["id"]: n for n in m["resolve"]["nodes"]}
    lock = {(p["name"], p["version"]): p for p in tomllib.loads((ROOT / "Cargo.lock").read_text(encoding="utf-8"))["package"]}
    root = next(p["id"] for p in m["packages"] if p["name"] == "batchwright")
    goes_in, todo = {root}, [root]
    inside = lambda dep: any(kind["kind"] in (None, "build") for kind in dep["dep_kinds"])
    while todo:
        for dep in nodes[todo.pop()]["deps"]:
            if inside(dep) and dep["pkg"] not in goes_in:
                goes_in.add(dep["pkg"])
                todo.append(dep["pkg"])

    def reference(p):
        return f"pkg:cargo/{p['name']}@{p['version']}"

    def component(p, kind):
        made = {"type": kind, "bom-ref": reference(p), "name": p["name"], "version": p["version"], "purl": reference(p),
                "licenses": [{"expression": p["license"].replace(" / ", " OR ").replace("/", " OR ")}]}
        checksum = lock.get((p["name"], p["version"]), {}).get("checksum")
        return made | ({"hashes": [{"alg": "SHA-256", "content": checksum}]} if checksum else {})

    def carried():
        """What the page carries that is no package of cargo: its licence and where it is from stand beside it."""
        reference = "pkg:npm/fzstd@0.1.1"
        text = (ROOT / "src/page/screen/fzstd/index.mjs").read_bytes()
        return {"type": "library", "bom-ref": reference, "name": "fzstd", "version": "0.1.1", "purl": reference,
                "licenses": [{"expression": "MIT"}], "hashes": [{"alg": "SHA-256", "content": hashlib.sha256(text).hexdigest()}]}

    used = sorted((packages[i] for i in goes_in if i != root), key=lambda p: (p["name"], p["version"]))
    bom = {
        "bomFormat": "CycloneDX", "specVersion": "1.5", "version": 1,
        "metadata": {"component": component(packages[root], "application")},
        "components": [*(component(p, "library") for p in used), carried()],
        "dependencies": [
            {"ref": reference(packages[i]), "dependsOn": sorted(reference(packages[d["pkg"]]) for d in nodes[i]["deps"] if inside(d))}
            for i in sorted(goes_in, key=lambda i: (packages[i]["name"], packages[i]["version"]))
        ],
    }
    json.dump(bom, sys.stdout, indent=1, ensure_ascii=False)
    print()
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("what", choices=["check", "sbom"])
    parser.add_argument("--advisories", help="a folder with the RustSec advisory database")
    arguments = parser.parse_args()
    return {"check": check, "sbom": sbom}[arguments.what](arguments)


if __name__ == "__main__":
    sys.exit(main())
