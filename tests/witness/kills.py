"""Writers killed at random moments, disks that fill up, folders that cannot be written: nothing is lost, nothing is half there.

    python kills.py PROGRAM [--times 1000] [--seed 1]

Each writer is killed so many times (SIGKILL) at a moment drawn between its start and a little after its usual end; what stands in its place
must be the old file or the new one, byte for byte. What a killed writer leaves beside it is cleared by a later one, once it is too old to be
anybody's work. Ctrl-C leaves nothing.
Full and read-only disks are small file systems of their own, which need root; without it they are skipped and said so. Exit 1 on any loss.
"""

import argparse
import os
import pathlib
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile

from local_page import Page

SCENARIOS = pathlib.Path(__file__).resolve().parents[2] / "scenarios"
LOSSES = []


def say(text):
    print(text, flush=True)


def lost(what):
    LOSSES.append(what)
    say(f"LOST: {what}")


def whole_workbook(path):
    try:
        with zipfile.ZipFile(path) as book:
            return book.testzip() is None
    except (OSError, zipfile.BadZipFile):
        return False


class Writer:
    """A call that writes one file of a folder."""

    def __init__(self, name, folder, file, arguments, sound=None):
        self.name, self.folder, self.file, self.arguments = name, folder, folder / file, arguments
        self.sound = sound

    def start(self, program):
        return subprocess.Popen([program, *self.arguments], cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def left_beside(self, known):
        return [p for p in self.folder.iterdir() if p.name not in known]


def writers(folder):
    scenario = folder / "rail.toml"
    shutil.copy(SCENARIOS / "oak-peg-rail.toml", scenario)
    shutil.copy(SCENARIOS / "oak-peg-rail-log.csv", folder / "log.csv")
    quick = ["rail.toml", "--trials", "100", "--overwrite"]
    entry = ["log", "log.csv", "--step", "drill", "--job", "9", "--pieces", "4", "--minutes", "21", "--date", "2026-11-03"]
    return [
        Writer("log", folder, "log.csv", entry),
        Writer("fit --write", folder, "rail.toml", ["fit", "rail.toml", "log.csv", "--write"]),
        Writer("--out", folder, "answer.json", ["sweep", *quick, "--format", "json", "--out", "answer.json"]),
        Writer("--chart", folder, "chart.png", ["sweep", *quick, "--chart", "chart.png"]),
        Writer("report, page", folder, "report.html", ["report", "rail.toml", "--trials", "100", "--out", "report.html"]),
        Writer("report, workbook", folder, "report.xlsx", ["report", "rail.toml", "--trials", "100", "--out", "report.xlsx"], whole_workbook),
    ]


def killed(program, writer, times, sign, chance):
    """Kills a writer at random moments; says how often the old and the new stood there, and what lay beside."""
    before = writer.file.read_bytes() if writer.file.exists() else None
    begin = time.monotonic()
    done = subprocess.run([program, *writer.arguments], cwd=writer.folder, capture_output=True, text=True)
    assert done.returncode == 0, f"{writer.name}: {done.stderr}"
    usual = time.monotonic() - begin
    after = writer.file.read_bytes()
    old, new, cleared = 0, 0, 0
    known = {p.name for p in writer.folder.iterdir()}
    left = 0
    for k in range(times):
        # What was there before, so that each kill has both to choose from.
        if before is None:
            writer.file.unlink(missing_ok=True)
        else:
            writer.file.write_bytes(before)
        process = writer.start(program)
        time.sleep(chance.uniform(0, usual * 1.3))
        process.send_signal(sign)
        process.wait()
        now = writer.file.read_bytes() if writer.file.exists() else None
        if now == before:
            old += 1
        elif now == after or (writer.sound and now is not None and writer.sound(writer.file)):
            new += 1
        else:
            lost(f"{writer.name}: kill {k}: {len(now or b'')} bytes that are neither the old file nor the new")
        beside = writer.left_beside(known)
        left = max(left, len(beside))
        if sign == signal.SIGINT and beside:
            lost(f"{writer.name}: Ctrl-C leaves {beside[0].name}")
    if before is not None:
        writer.file.write_bytes(before)
    for path in writer.left_beside(known):
        os.utime(path, (0, time.time() - 2 * 86_400))
    subprocess.run([program, *writer.arguments], cwd=writer.folder, capture_output=True)
    for path in writer.left_beside(known):
        if sign == signal.SIGKILL:
            lost(f"{writer.name}: {path.name} is still there after a call two days later")
        path.unlink()
    word = "killed" if sign == signal.SIGKILL else "ended with Ctrl-C"
    say(f"{writer.name}: {word} {times} times; the old file {old} times, the new one {new} times; beside it at most {left}")


def killed_page(program, folder, times, chance):
    """The page's server killed while it saves."""
    file = folder / "page.toml"
    text = (SCENARIOS / "oak-peg-rail.toml").read_text(encoding="utf-8")
    old = new = 0
    for k in range(times):
        file.write_text(text, encoding="utf-8")
        page = Page(program, file)
        wanted = text.replace("price         = 62", "price         = 64.5", 1)
        delay = chance.uniform(0, 0.04)
        child = os.fork()
        if child == 0:
            try:
                page.save(wanted, text)
            finally:
                os._exit(0)
        time.sleep(delay)
        page.end()
        os.waitpid(child, 0)
        now = file.read_text(encoding="utf-8")
        old, new = old + (now == text), new + (now == wanted)
        if now not in (text, wanted):
            lost(f"page: kill {k}: {len(now)} bytes that are neither the old file nor the new")
    say(f"saving on the page: killed {times} times; the old file {old} times, the new one {new} times")


def on_disk(program, options, what, folder):
    """Every writer on a file system that is too small or may only be read."""
    place = folder / what.replace(" ", "-")
    place.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", place], capture_output=True).returncode != 0:
        say(f"{what}: no right to mount a file system, skipped")
        return
    try:
        made = writers(place)
        for writer in made:
            if not writer.file.exists():
                writer.file.write_bytes(b"old\n")
        before = {w.name: w.file.read_bytes() for w in made}
        if options == "full":
            try:
                with open(place / "filler", "wb") as filler:
                    while True:
                        filler.write(b"x" * 4096)
                        filler.flush()
            except OSError:
                pass
        else:
            subprocess.run(["mount", "-o", "remount,ro", place], check=True)
        known = {p.name for p in place.iterdir()}
        for writer in made:
            arguments = [*writer.arguments, "--overwrite"] if writer.name.startswith("report") else writer.arguments
            done = subprocess.run([program, *arguments], cwd=place, capture_output=True, text=True)
            message = done.stderr.strip().splitlines()
            if done.returncode != 1 or not message or "panicked" in done.stderr:
                lost(f"{what}, {writer.name}: exit {done.returncode}: {message[:1]}")
            if writer.file.read_bytes() != before[writer.name] or writer.left_beside(known):
                lost(f"{what}, {writer.name}: the old file changed or something is left")
        say(f"{what}: {len(made)} writers say so with exit 1 and change nothing")
    finally:
        subprocess.run(["umount", place], check=True)


def ends(program, folder):
    """A reader that goes away, a device that takes nothing, a folder that is gone, a link that leads nowhere."""
    rail = folder / "rail.toml"
    for command in (["sweep", "--all"], ["sweep", "--format", "json"], ["stress"], ["drivers"], ["check"]):
        process = subprocess.Popen([program, command[0], rail, *command[1:]], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        process.stdout.read(10)
        process.stdout.close()
        error = process.stderr.read()
        if process.wait() not in (0, 1) or b"panicked" in error:
            lost(f"closed pipe, {command}: exit {process.returncode} {error[:200]}")
    (folder / "nowhere").symlink_to(folder / "gone" / "x.json")
    for out in ("/dev/full", folder / "gone" / "x.json", folder / "nowhere"):
        done = subprocess.run([program, "sweep", rail, "--format", "json", "--out", out, "--trials", "100"], capture_output=True, text=True)
        if done.returncode != 1 or not done.stderr.strip() or "panicked" in done.stderr:
            lost(f"--out {out}: exit {done.returncode}: {done.stderr[:200]}")
    (folder / "nowhere").unlink()
    say("closed pipes, a full device, a folder that is gone, a link that leads nowhere: as they should be")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--times", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    program, chance = str(pathlib.Path(arguments.program).resolve()), random.Random(arguments.seed)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for k, _ in enumerate(writers(folder)):
            own = folder / str(k)
            own.mkdir()
            killed(program, writers(own)[k], arguments.times, signal.SIGKILL, chance)
            own = folder / f"{k}-c"
            own.mkdir()
            killed(program, writers(own)[k], max(arguments.times // 10, 1), signal.SIGINT, chance)
        killed_page(program, folder, arguments.times, chance)
        ends(program, folder)
        on_disk(program, "full", "a full disk", folder)
        on_disk(program, "read only", "a read-only folder", folder)
    say(f"{len(LOSSES)} losses")
    return 1 if LOSSES else 0


if __name__ == "__main__":
    sys.exit(main())
