"""The local page under load: everybody gets an answer, nothing hangs, memory does not grow.

    python load.py PROGRAM [--requests 20000]

1,000 requests at once; 200 connections that send a byte now and then while others are answered; bodies over the limit; 20,000 requests in
a row with the memory before and after. Exit 1 where anything is not as it should be.
"""

import argparse
import concurrent.futures
import json
import pathlib
import socket
import statistics
import sys
import tempfile
import time

from local_page import Page

RAIL = pathlib.Path(__file__).resolve().parents[2] / "scenarios" / "oak-peg-rail.toml"
WRONG = []


def should(holds, what):
    if not holds:
        WRONG.append(what)
        print(f"WRONG: {what}", flush=True)


def at_once(page, text, count):
    """So many requests at once; each save but those of the file as it is must be refused or taken whole."""

    def one(k):
        begin = time.monotonic()
        try:
            if k % 2:
                status, _, body = page.request("GET", "/", timeout=120)
                right = status == 200 and len(body) > 1000
            else:
                # None of them is what the file holds, so that nothing is saved.
                status, _, body = page.save(text, f"{text}# {k}\n")
                right = status == 409 and json.loads(body)["changed"]
        except OSError as error:
            return time.monotonic() - begin, f"{error!r}"
        return time.monotonic() - begin, None if right else f"{status} {body[:120]!r}"

    with concurrent.futures.ThreadPoolExecutor(count) as pool:
        found = list(pool.map(one, range(count)))
    wrong = [why for _, why in found if why]
    should(not wrong, f"{count} at once: {len(wrong)} went wrong: {wrong[:2]}")
    times = sorted(t for t, _ in found)
    print(f"{count} at once: half in {statistics.median(times):.2f} s, all in {times[-1]:.2f} s", flush=True)


def slowly(page, count):
    """Connections that hardly send anything do not hold up others."""
    slow = []
    for _ in range(count):
        s = socket.create_connection(("127.0.0.1", page.port), timeout=10)
        s.sendall(b"POST /save HTTP/1.1\r\nHost: 127.0.0.1")
        slow.append(s)
    worst = 0.0
    for turn in range(20):
        for s in slow:
            try:
                s.sendall(b"x")
            except OSError:
                pass  # The program may end what takes too long.
        begin = time.monotonic()
        status, _, _ = page.request("GET", "/", timeout=20)
        should(status == 200, f"beside slow connections: {status}")
        worst = max(worst, time.monotonic() - begin)
    for s in slow:
        s.close()
    print(f"beside {count} slow connections: answered within {worst:.3f} s", flush=True)


def too_much(page, text):
    for megabytes in (17, 64):
        try:
            status, _, _ = page.request("POST", "/save", b"x" * (megabytes << 20), timeout=60)
        except (BrokenPipeError, ConnectionResetError):
            status = "closed"
        should(status in (413, "closed"), f"a body of {megabytes} MB: {status}")
    print("bodies over the limit refused", flush=True)
    status, _, _ = page.save(text, text)
    should(status == 200, f"afterwards: {status}")


def growth(page, text, count):
    ask = lambda k: page.save(text, text)[0]
    for k in range(300):
        ask(k)
    before, worst = page.memory(), 0.0
    begin = time.monotonic()
    for k in range(count):
        asked = time.monotonic()
        status = ask(k) if k % 10 == 0 else page.request("GET", "/")[0]
        worst = max(worst, time.monotonic() - asked)
        if status != 200:
            should(False, f"request {k}: {status}")
            break
    after = page.memory()
    # A tenth for what allocators keep.
    should(after < before * 1.1 + 8192, f"memory grew from {before} to {after} KiB")
    print(f"{count} requests in {time.monotonic() - begin:.0f} s, slowest {worst:.2f} s; memory {before / 1024:.0f} then {after / 1024:.0f} MiB", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--requests", type=int, default=20_000)
    arguments = parser.parse_args()
    text = RAIL.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder, "rail.toml")
        file.write_text(text, encoding="utf-8")
        page = Page(str(pathlib.Path(arguments.program).resolve()), file)
        try:
            at_once(page, text, 1000)
            slowly(page, 200)
            too_much(page, text)
            growth(page, text, arguments.requests)
            should(file.read_text(encoding="utf-8") == text, "the file is as it was")
        finally:
            page.end()
    print(f"{len(WRONG)} wrong")
    return 1 if WRONG else 0


if __name__ == "__main__":
    sys.exit(main())
