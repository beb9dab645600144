"""What each call holds in memory at the most, at the heaviest that it takes on.

    python memory.py PROGRAM [--only WORD]

Each question is asked about shops that strain it in different ways (hardly any work and as many trials as are taken; sizes by the thousand; many
steps, materials and rounds; a calendar of thousands of pieces), each time with as many trials as it takes on: it is asked for a hundred million
first, and for an eighth fewer as long as it refuses. The peak of resident memory is the kernel's own count (wait4). Prints a table, with what the
last refusal was for; exit 1 where a call held more than the 2 GiB that are taken on, or was killed.
"""

import argparse
import os
import pathlib
import subprocess
import sys
import tempfile
import time

MOST = 2 * 1024**3
ASKED = 100_000_000
WRONG = []

TINY = """currency = "EUR"
target = 20
[batch]
sizes = {sizes}
{pace}[[step]]
name = "make"
setup = "5 / 8 / 20 min"
each = "3 / 4 / 9 min"
{step}[[step]]
name = "pack"
per_order = "3 / 5 / 12 min"
[[material]]
name = "stock"
per_piece = 1
price = "2 / 3 / 5"
[sale]
price = 9
order_of = "1 / 2 / 4"
fee = "5 %"
post = "2 / 3 / 5"
returned = "2 %"
[hours]
mon = 8
tue = 8
wed = 8
thu = 8
fri = 8
sat = 8
sun = 8
"""
SEASON = '[season]\nbuyers = "20 / 60 / 200"\nclearance = 2\nelasticity = 1.5\n'
STEADY = '[steady]\nper_week = 5\nhold = "20 %"\n'
JIGS = "".join(f'[[jig]]\nname = "jig {k}"\nstep = "make"\nbuild = "1 / 2 / 4 h"\ncost = 5\neach = "x 0.9"\nlasts = 2000\n' for k in range(5))


def tiny(sizes="[1]", more="", step="", pace=""):
    return TINY.format(sizes=sizes, step=step, pace=pace) + more


def rich(sizes, steps=60, materials=40, more=""):
    """Everything on, many times."""
    text = tiny(sizes, pace='[pace]\nfactor = "0.8 / 1 / 1.4"\n', step='spoil = "1 %"\nredo = "2 %"\nlearning = "92 %"\nroom = 6\nwait = "2 h"\n')
    for k in range(steps):
        text += f'[[step]]\nname = "step {k}"\nsetup = "1 / 2 / 4 min"\neach = "1 / 2 / 5 min"\nspoil = "0.2 %"\nredo = "1 %"\nroom = 6\n'
    for k in range(materials):
        text += f'[[material]]\nname = "stuff {k}"\nper_piece = 0.1\nprice = "1 / 2 / 4"\nwaste = "5 / 10 / 30 %"\npack = 3\n'
    return text + more


CASES = [
    ("sweep, one size", "sweep", tiny(), []),
    ("sweep, 10,000 sizes", "sweep", tiny('"1..10000"'), []),
    ("sweep, 1,000 sizes, pictures", "sweep", tiny('"1..1000"'), ["--chart", "x.png"]),
    ("sweep, 61 steps, 40 materials", "sweep", rich('"1..40"'), []),
    ("sweep, until within 0.1 %", "sweep", tiny('"1..40"'), ["--within", "0.1%"]),
    ("sweep over two keys", "sweep", tiny(), ["--over", "sale.price=5..15 step 0.5", "--over", "step.make.each=2..12 min step 0.5"]),
    ("floor, one size", "floor", tiny(), []),
    ("floor, 10,000 sizes", "floor", tiny('"1..10000"'), []),
    ("floor, orders", "floor", tiny(), ["--order", "1,2,3,4,5,6,8,10,12,16,20,24"]),
    ("floor, orders where half is spoiled", "floor", tiny(step='spoil = "50 %"\n'), ["--order", "1,6,100"]),
    ("stress, one piece", "stress", tiny(), ["--size", "1"]),
    ("stress, 61 steps", "stress", rich("[12]"), ["--size", "12"]),
    ("stress, 10,000 pieces", "stress", tiny("[1]"), ["--size", "10000"]),
    ("drivers, one piece", "drivers", tiny(), ["--size", "1"]),
    ("drivers, 61 steps, 40 materials", "drivers", rich("[12]"), ["--size", "12"]),
    ("drivers, 10,000 pieces", "drivers", tiny("[1]"), ["--size", "10000"]),
    ("jig, five of them", "jig", tiny("[6]", JIGS), ["--size", "6"]),
    ("jig, at many sizes", "jig", tiny('"1..400"', JIGS), ["--size", "6"]),
    ("season, one size", "season", tiny("[20]", SEASON), []),
    ("season, 1,000 sizes", "season", tiny('"1..1000"', SEASON), []),
    ("steady, one size", "steady", tiny("[20]", STEADY), []),
    ("steady, 1,000 sizes", "steady", tiny('"1..1000"', STEADY), []),
    ("compare, two", "compare", tiny(), ["OTHER"]),
    ("compare, two of 61 steps", "compare", rich("[12]"), ["OTHER"]),
    ("calendar, one piece", "calendar", tiny(), ["--size", "1"]),
    ("calendar, 61 steps", "calendar", rich("[12]"), ["--size", "12"]),
    ("calendar, 3,000 pieces", "calendar", tiny("[3000]"), ["--size", "3000"]),
    ("calendar, 10,000 pieces in rooms of 6", "calendar", tiny("[10000]", step='room = 6\nwait = "1 h"\n'), ["--size", "10000"]),
    ("report, everything", "report", rich('"1..40"', 20, 10, SEASON + JIGS), ["--out", "x.html"]),
    ("report, workbook", "report", tiny('"1..1000"', STEADY + JIGS), ["--out", "x.xlsx"]),
]


def peak(call, folder):
    """Exit code, bytes at the most, seconds, and what was said."""
    with tempfile.TemporaryFile() as said:
        start = time.monotonic()
        process = subprocess.Popen(call, cwd=folder, stdout=subprocess.DEVNULL, stderr=said)
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        return process.returncode, used.ru_maxrss * 1024, time.monotonic() - start, said.read().decode()


def one(program, folder, case):
    name, question, text, more = case
    (folder / "shop.toml").write_text(text)
    (folder / "other.toml").write_text(text.replace("price = 9", "price = 11"))
    for file in ("x.png", "x.html", "x.xlsx"):
        (folder / file).unlink(missing_ok=True)
    call = [program, question, "shop.toml", *("other.toml" if word == "OTHER" else word for word in more)]
    if question == "calendar":
        call += ["--start", "2027-01-11"]
    # A report leaves out what would take too much, and is asked as it is where nothing is said.
    trials, bound = (ASKED, "") if question != "report" else (None, "")
    while True:
        code, held, seconds, said = peak(call + ([f"--trials={trials}"] if trials else []), folder)
        if "this would take about" not in said or code != 2 or trials <= 100:
            break
        bound = "memory" if "GB of memory, and" in said else "time"
        trials = max(int(trials / 1.15), 100)
    fits = code == 0 and held <= MOST
    if not fits:
        WRONG.append(name)
    wrong = "" if fits else f"WRONG: exit {code} {said.strip()[:300]}"
    print(f"{name:40} {trials or 0:>11,} {bound:7} {held / 2**20:8,.0f} {seconds:6.1f} s  {wrong}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--only", default="")
    arguments = parser.parse_args()
    program = str(pathlib.Path(arguments.program).resolve())
    print(f"{'call':40} {'trials':>11} {'refused':7} {'MiB':>8}")
    with tempfile.TemporaryDirectory() as name:
        for case in CASES:
            if arguments.only in case[0]:
                one(program, pathlib.Path(name), case)
    print(f"{len(WRONG)} wrong")
    return 1 if WRONG else 0


if __name__ == "__main__":
    sys.exit(main())
