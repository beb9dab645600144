"""The second witness: what the program answers, simulated once more by other code written from the documents, and compared.

    python witness.py PROGRAM [--random 50] [--only NAME] [--jobs 2] [--worst 12]

All shipped scenarios and so many random ones, each question that applies. A figure and its counterpart are both estimates, so that their
difference over the error of both is a standard normal number where they agree. The bound is Bonferroni's for a chance of `figures.ALARM`
that anything at all is beyond it. Seeds are fixed: what passes once passes always. Exit 1 where anything disagrees.
"""

import argparse
import itertools
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import time
import traceback
from concurrent.futures import ProcessPoolExecutor

import days
import figures
import questions
import random_scenarios
import scenario

SHIPPED = pathlib.Path(__file__).resolve().parents[2] / "scenarios"


def asking(program, files):
    def ask(command, *options):
        call = [program, command, *map(str, files), *map(str, options), "--format", "json", "--threads", "1"]
        done = subprocess.run(call, capture_output=True, text=True, timeout=300)
        assert done.returncode == 0, f"{' '.join(call)}\n{done.stderr}"
        return json.loads(done.stdout)

    return ask


def one(job):
    """Every question of one scenario, or of a pair of them."""
    program, name, texts, only = job
    f = figures.Figures(name)
    try:
        with tempfile.TemporaryDirectory() as folder:
            paths = []
            for k, text in enumerate(texts):
                paths.append(pathlib.Path(folder, f"{k}.toml"))
                paths[-1].write_text(text, encoding="utf-8")
            read = [scenario.read(t) for t in texts]
            ask = asking(program, paths)
            if len(read) == 2:
                asked = {"compare": lambda f, _, ask: questions.compare(f, read, ask)}
            else:
                asked = {**questions.QUESTIONS, "calendar": days.calendar}
            for question, reference in asked.items():
                if only and question != only:
                    continue
                f.question = question
                reference(f, read[0], ask)
    except Exception:
        f.wrong.append((name, f.question, "ended", traceback.format_exc(limit=-3), ""))
    return f


def jobs(program, count, only_name, only_question):
    shipped = {p.stem: p.read_text(encoding="utf-8") for p in sorted(SHIPPED.glob("*.toml"))}
    for name, text in list(shipped.items()):
        try:
            s = scenario.read(text)
            for m in s.misfortunes:
                scenario.misfortune(s, m)
        except scenario.Unknown as unknown:
            print(f"left out: {name}: {unknown}")
            del shipped[name]
    drawn = [random_scenarios.scenario(k) for k in range(count)]
    found = [(program, name, [text], only_question) for name, text in shipped.items()]
    found += [(program, f"random {k}", [text], only_question) for k, text in enumerate(drawn)]
    # Known numbers of buyers, of which chance decides the fraction.
    for name, known in (("spinning-tops", "[11, 18.6, 27.4]"), ("willow-baskets", "9.3")):
        if name in shipped:
            text = re.sub(r"(?m)^(buyers|sells)( *)= .*", rf"\1\2= {known}", shipped[name])
            found.append((program, f"{name}, buyers known", [text], only_question))
    pairs = [("oak-peg-rail", "oak-coat-stand")]
    found += [(program, f"{a} and {b}", [shipped[a], shipped[b]], only_question) for a, b in pairs if a in shipped and b in shipped]
    # Among them the first that has selling days and a week.
    week = (k for k, text in enumerate(drawn) if "[[selling_day]]" in text and "[hours]" in text and "[season]" not in text)
    twice = {*range(min(count, 6)), *itertools.islice(week, 1)}
    found += [(program, f"random {k} twice", [drawn[k]] * 2, only_question) for k in sorted(twice)]
    return [j for j in found if not only_name or j[1] == only_name]


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--random", type=int, default=50)
    parser.add_argument("--only", help="one scenario by its name")
    parser.add_argument("--question", help="one question by its name")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--worst", type=int, default=12)
    arguments = parser.parse_args()
    begin = time.monotonic()
    todo = jobs(str(pathlib.Path(arguments.program).resolve()), arguments.random, arguments.only, arguments.question)
    with ProcessPoolExecutor(arguments.jobs) as pool:
        done = list(pool.map(one, todo))
    rows = sorted((r for f in done for r in f.rows), reverse=True)
    wrong = [w for f in done for w in f.wrong]
    bound = figures.Figures("").bound(max(len(rows), 1))
    for _, z, name, question, figure, program, witness, se in rows[: arguments.worst]:
        print(f"{z:+7.2f}  {name}, {question}: {figure}: program {program:.6g}, witness {witness:.6g}, error {se:.3g}")
    for w in wrong[:40]:
        print("differs:", *w)
    beyond = sum(r[0] > bound for r in rows)
    exact, left = sum(f.exact_count for f in done), sum(f.left_out for f in done)
    print(f"{len(todo)} scenarios and pairs, {len(rows)} estimates, {exact} exact figures, {left} left out as too rare or of several things")
    print(f"bound {bound:.2f} standard errors (chance of any false alarm {figures.ALARM:.0%}); beyond it {beyond}; "
          f"different {len(wrong)}; {time.monotonic() - begin:.0f} s")
    return 1 if beyond or wrong else 0


if __name__ == "__main__":
    sys.exit(main())
