"""What README and `--help` quote, done by somebody who has nothing but this repository.

    python newcomer.py [--program FILE] [--tests]

Clones the repository into an empty folder and, without `--program`, builds there as README says, with an empty build folder. Then README's
first command is run and compared with what README prints, and so is its picture; README's other commands run in its order in a folder of their
own, as somebody would type them; every command quoted in a `--help` runs with files of the names that it uses. `--tests` runs README's
second command too. Exit 1 where a command fails or prints something else.
"""

import argparse
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[2]
WRONG = []
# Such a command ends when it is told to.
STAYS = {"desk"}


def run(line, folder, program, **more):
    """A quoted command line, comments and pipes as a shell takes them."""
    bin_folder = folder.parent / "bin"
    environment = {**os.environ, "PATH": f"{bin_folder}:{os.environ['PATH']}", "COLUMNS": ""}
    del environment["COLUMNS"]
    # What a command writes at home stays with the rest.
    if (folder.parent / "home").exists():
        environment["HOME"] = str(folder.parent / "home")
    return subprocess.run(["bash", "-c", line], cwd=folder, capture_output=True, text=True, env=environment, timeout=7200, **more)


def wrong(what):
    WRONG.append(what)
    print(f"WRONG: {what}", flush=True)


def blocks(text, kind):
    return re.findall(rf"```{kind}\n(.*?)```", text, re.S)


def commands(block):
    """Lines of a block, those that a backslash goes on joined, without comments."""
    for line in block.replace("\\\n", " ").splitlines():
        line = line.split("  #")[0].strip()
        if line:
            yield line


def first_command(clone, program, readme):
    line = next(commands(blocks(readme, "sh")[0]))
    if program:
        line = line.replace("cargo run --release --", shlex.quote(str(program)))
    done = run(line, clone, program)
    if done.returncode != 0:
        wrong(f"{line}: {done.stderr[-500:]}")
    if done.stdout != blocks(readme, "text")[0]:
        wrong(f"{line}: README shows something else")
    drawn = clone / re.search(r"--chart (\S+)", line)[1]
    if not drawn.exists() or drawn.read_text() != (clone / "scenarios/oak-peg-rail.svg").read_text():
        wrong(f"{line}: the picture in README is another one")
    print(f"README's first command ran: {line}", flush=True)


def quoted(readme):
    """README's other command lines."""
    for block in blocks(readme, "sh")[1:]:
        yield from commands(block)


def files_for(line, folder, clone):
    """Files with the names a quoted command uses, of the kind it needs."""
    shipped = clone / "scenarios"
    kinds = {"tops": "spinning-tops", "labels": "plant-labels", "stool": "oak-coat-stand", "stand": "oak-coat-stand", "towels": "printed-tea-towels",
             "mugs": "stoneware-mugs", "fair": "spinning-tops", "cards": "letterpress-cards", "wallet": "card-wallet", "table": "ash-dining-table"}
    for name in re.findall(r"[\w./-]+\.toml", line):
        path = folder / name
        if not path.exists() and f"--out {name}" not in line and f"--write={name}" not in line:
            path.parent.mkdir(parents=True, exist_ok=True)
            source = shipped / f"{kinds.get(path.stem, 'oak-peg-rail')}.toml"
            if (shipped / path.name).exists():
                source = shipped / path.name
            shutil.copy(source, path)
    for name in re.findall(r"[\w./-]+\.csv", line):
        path = folder / name
        begun = " log " in line and ("--step" in line or "--price" in line)
        if not path.exists() and f"--out {name}" not in line and not begun:
            shutil.copy(shipped / ("plant-labels-sales.csv" if "sales" in path.stem else "oak-peg-rail-log.csv"), path)


def helped(program, folder, clone):
    """Every command line quoted in a help."""
    text = subprocess.run([program, "--help"], capture_output=True, text=True).stdout
    names = re.findall(r"^  ([a-z]+)  ", text, re.M)
    count, parts = 0, []
    for name in names:
        page = subprocess.run([program, name, "--help"], capture_output=True, text=True).stdout
        page = re.sub(r"\\\n\s*", "", page)
        for line in re.findall(r"^\s+((?:[^\n|]+\| )?batchwright [^\n]+)$", page, re.M):
            if line.startswith("Usage") or "<" in line.replace("< ", "").replace("<(", ""):
                continue
            # What it does stands in a column of its own behind some commands.
            line = re.split(r" {2,}", line)[0]
            count += 1
            own = folder / f"{name}-{count}"
            own.mkdir()
            files_for(line, own, clone)
            words = shlex.split(line, comments=True)
            for word in STAYS:
                line = line.replace(f"batchwright {word} ", f"timeout 5 batchwright {word} ")
            done = run(line, own, program, input=(clone / "scenarios/oak-peg-rail.toml").read_text())
            unknown = re.search(r"no (step|channel|material) is called|there is no (such jig|channel of this name)|has no step `", done.stderr)
            if done.returncode == 1 and "built without the page" in done.stderr:
                # It says how to build it in.
                parts.append(line)
            elif done.returncode == 2 and unknown:
                # The name of a step of the reader's own file.
                parts.append(line)
            elif done.returncode not in ((0, 124) if STAYS & set(words) else (0,)):
                wrong(f"{name} --help: {line}: exit {done.returncode}: {done.stderr.strip()[:300]}")
    print(f"{count} commands quoted in --help ran; of them {len(parts)} name a part of the reader's own file, or need the page in the program, and say so")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--program", type=pathlib.Path, help="an executable that is there already, instead of building one")
    parser.add_argument("--tests", action="store_true", help="README's second command as well")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        clone = folder / "batchwright"
        subprocess.run(["git", "clone", "--quiet", "--depth", "1", f"file://{ROOT}", clone], check=True)
        readme = (clone / "README.md").read_text(encoding="utf-8")
        program = arguments.program and arguments.program.resolve()
        first_command(clone, program, readme)
        if arguments.tests:
            begun = time.monotonic()
            done = run("cargo test", clone, program)
            if done.returncode != 0:
                wrong(f"cargo test: {done.stdout[-3000:]}{done.stderr[-1000:]}")
            print(f"README's second command ran: {(time.monotonic() - begun) / 60:.0f} min", flush=True)
        program = program or clone / "target/release/batchwright"
        (folder / "bin").mkdir()
        (folder / "bin/batchwright").symlink_to(program)
        own = folder / "own"
        own.mkdir()
        count = 0
        for line in quoted(readme):
            if line.startswith("cargo"):
                continue
            files_for(line, own, clone)
            if STAYS & set(line.split()):
                line = f"timeout 5 {line}"
            done = run(line, own, program)
            count += 1
            if done.returncode not in (0, 124) and "built without the page" not in done.stderr:
                wrong(f"README: {line}: exit {done.returncode}: {done.stderr.strip()[:300]}")
        print(f"{count} other commands of README ran")
        helps = folder / "helps"
        helps.mkdir()
        (helps / "home/.config/fish/completions").mkdir(parents=True)
        # Quoted commands find the program one folder up.
        (helps / "bin").symlink_to(folder / "bin")
        helped(program, helps, clone)
    print(f"{len(WRONG)} wrong")
    return 1 if WRONG else 0


if __name__ == "__main__":
    sys.exit(main())
