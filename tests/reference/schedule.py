"""clamps.csv, kiln.csv, coats.csv, firings.csv: one worker, waits and limited room as simpy has it (4.1.2), each held here against a second
model written otherwise. The worker never interrupts a task; at equal times waits that end are seen before the next choice is made.
The first rows of each table were also worked out by hand."""
import random
import simpy
from common import table

def clamps(n, room, glue, cure, unclamp, sand):
    """Unclamp what has cured longest; else glue the next if a clamp is free; else sand the earliest unclamped; else wait. A clamp is
    held from the start of gluing to the end of unclamping."""
    env = simpy.Environment(); st = {"free": room, "next": 1, "cured": [], "tosand": [], "done": 0}; wake = [env.event()]
    def curing(i):
        yield env.timeout(cure); st["cured"].append(i)
        if not wake[0].triggered: wake[0].succeed()
    def worker():
        while st["done"] < n:
            if st["cured"]:
                i = st["cured"].pop(0); yield env.timeout(unclamp); st["free"] += 1; st["tosand"].append(i)
            elif st["next"] <= n and st["free"] > 0:
                i = st["next"]; st["next"] += 1; st["free"] -= 1; yield env.timeout(glue); env.process(curing(i))
            elif st["tosand"]:
                st["tosand"].pop(0); yield env.timeout(sand); st["done"] += 1
            else:
                wake[0] = env.event(); yield wake[0]
    env.process(worker()); env.run(); return env.now

def clamps_by_minutes(n, room, glue, cure, unclamp, sand):
    t = 0; free = room; nxt = 1; cur = {}; ts = []; done = 0; job = None
    while True:
        if job and job[2] == t:
            w, i, _ = job; job = None
            if w == "g": cur[i] = t + cure
            elif w == "u": free += 1; ts.append(i)
            else: done += 1
            if done == n: return t
        if job is None:
            rdy = sorted((e, i) for i, e in cur.items() if e <= t)
            if rdy: i = rdy[0][1]; del cur[i]; job = ("u", i, t + unclamp)
            elif nxt <= n and free: job = ("g", nxt, t + glue); nxt += 1; free -= 1
            elif ts: job = ("s", ts.pop(0), t + sand)
        t += 1

def kiln(n, room, setup, form, load, load_each, fire, unload, unload_each, finish):
    """Form everything; unload as soon as firing ends and the worker is free; else load the next round if the kiln is empty; else finish
    one unloaded piece; else wait."""
    env = simpy.Environment(); rounds = [min(room, n - i) for i in range(0, n, room)]
    st = {"fired": None, "kiln": None, "left": rounds[:], "tofin": 0, "done": 0}; wake = [env.event()]
    def firing(k):
        yield env.timeout(fire); st["fired"] = k
        if not wake[0].triggered: wake[0].succeed()
    def worker():
        yield env.timeout(setup + form * n)
        while st["done"] < n:
            if st["fired"]:
                k = st["fired"]; st["fired"] = None; yield env.timeout(unload + unload_each * k); st["kiln"] = None; st["tofin"] += k
            elif st["left"] and st["kiln"] is None:
                k = st["left"].pop(0); st["kiln"] = k; yield env.timeout(load + load_each * k); env.process(firing(k))
            elif st["tofin"]:
                st["tofin"] -= 1; yield env.timeout(finish); st["done"] += 1
            else:
                wake[0] = env.event(); yield wake[0]
    env.process(worker()); env.run(); return env.now

def kiln_by_rounds(n, room, setup, form, load, load_each, fire, unload, unload_each, finish):
    t = setup + form * n; rounds = [min(room, n - i) for i in range(0, n, room)]; wait = 0
    for k in rounds:
        t += load + load_each * k; end = t + fire
        while wait and t < end: t += finish; wait -= 1
        t = max(t, end) + unload + unload_each * k; wait += k
    return t + wait * finish

def firings(n, form, dry, bisque, load, fire, glaze, gloss, load_gloss, fire_gloss, finish, kilns):
    """Form each piece, each dries by itself; load a bisque round when its pieces are dry; glaze each; load a glaze round when its
    pieces are glazed; finish each. Both firings need a kiln, from loading to the end of firing; the earliest step goes first."""
    env = simpy.Environment(); wake = [env.event()]
    st = {"formed": 0, "dry": set(), "bisque": 0, "out": [], "glazed": 0, "gloss": 0, "ready": [], "done": 0, "kilns": kilns}
    def rouse():
        if not wake[0].triggered: wake[0].succeed()
    def drying(i):
        yield env.timeout(dry); st["dry"].add(i); rouse()
    def firing(minutes, pieces, to):
        yield env.timeout(minutes); st["kilns"] += 1; st[to] += pieces; rouse()
    def worker():
        while st["done"] < n:
            b, g = st["bisque"], st["gloss"]; bn, gn = min(bisque, n - b), min(gloss, n - g)
            if st["formed"] < n:
                i = st["formed"]; yield env.timeout(form); st["formed"] += 1; env.process(drying(i))
            elif bn > 0 and st["kilns"] and all(i in st["dry"] for i in range(b, b + bn)):
                st["bisque"] += bn; st["kilns"] -= 1; yield env.timeout(load); env.process(firing(fire, [0] * bn, "out"))
            elif st["out"]:
                st["out"].pop(); yield env.timeout(glaze); st["glazed"] += 1
            elif gn > 0 and st["kilns"] and st["glazed"] >= g + gn:
                st["gloss"] += gn; st["kilns"] -= 1; yield env.timeout(load_gloss); env.process(firing(fire_gloss, [0] * gn, "ready"))
            elif st["ready"]:
                st["ready"].pop(); yield env.timeout(finish); st["done"] += 1
            else:
                wake[0] = env.event(); yield wake[0]
    env.process(worker()); env.run(); return env.now

def firings_by_minutes(n, form, dry, bisque, load, fire, glaze, gloss, load_gloss, fire_gloss, finish, kilns):
    """Minute by minute: what each round and piece has become, no events."""
    b_of = [i // bisque for i in range(n)]; g_of = [i // gloss for i in range(n)]
    dry_at = [None] * n; b_out = {}; glazed = [False] * n; g_out = {}; done = [False] * n; free_at = [0] * kilns
    t = 0; busy = 0; now = None
    while True:
        if now and busy == t:
            what, k, kiln = now; now = None
            if what == "form": dry_at[k] = t + dry
            elif what == "bisque": b_out[k] = t + fire; free_at[kiln] = t + fire
            elif what == "glaze": glazed[k] = True
            elif what == "gloss": g_out[k] = t + fire_gloss; free_at[kiln] = t + fire_gloss
            else:
                done[k] = True
                if all(done): return t
        if now is None:
            free = [k for k in range(kilns) if free_at[k] <= t]
            todo = [("form", i, form) for i in range(n) if dry_at[i] is None][:1]
            if not todo and free:
                todo = [("bisque", r, load) for r in range(b_of[-1] + 1) if r not in b_out and
                        all(dry_at[i] <= t for i in range(n) if b_of[i] == r)][:1]
            if not todo:
                todo = [("glaze", i, glaze) for i in range(n) if not glazed[i] and b_out.get(b_of[i], t + 1) <= t][:1]
            if not todo and free:
                todo = [("gloss", r, load_gloss) for r in range(g_of[-1] + 1) if r not in g_out and
                        all(glazed[i] for i in range(n) if g_of[i] == r)][:1]
            if not todo:
                todo = [("finish", i, finish) for i in range(n) if not done[i] and g_out.get(g_of[i], t + 1) <= t][:1]
            if todo:
                what, k, minutes = todo[0]; now = (what, k, free[0] if free else None); busy = t + minutes
                if what in ("bisque", "gloss"): free_at[free[0]] = float("inf")
        t += 1

# Minutes from Monday 00:00; work Monday to Friday, 08:00 to 16:00.
def is_work(t): return (t // 1440) % 7 < 5 and 480 <= t % 1440 < 960
def next_work(t):
    while not is_work(t): t += 1
    return t
def do(t, m):
    while m: t = next_work(t); t += 1; m -= 1
    return t

def coats(pieces, coat, cure, count, start):
    """Coats of finish, each cured before the next; the lowest piece goes first; done when the last cure is over."""
    env = simpy.Environment(start); w = simpy.PriorityResource(env, 1); done = []
    def piece(i):
        for _ in range(count):
            with w.request(priority=i) as r:
                yield r; e = do(env.now, coat); yield env.timeout(e - env.now)
            yield env.timeout(cure)
        done.append(env.now)
    for i in range(pieces): env.process(piece(i))
    env.run(); return max(done)

def coats_by_loop(pieces, coat, cure, count, start):
    rdy = [start] * pieces; left = [count] * pieces; t = start
    while any(left):
        c = [i for i in range(pieces) if left[i] and rdy[i] <= t]
        if not c: t = min(rdy[i] for i in range(pieces) if left[i]); continue
        i = c[0]; t = do(t, coat); rdy[i] = t + cure; left[i] -= 1
    return max(rdy)

draw = random.Random(10)
cases = [(5, 2, 10, 45, 5, 15), (5, 1, 10, 45, 5, 15), (5, 3, 10, 45, 5, 15), (5, 5, 10, 45, 5, 15), (1, 2, 10, 45, 5, 15),
         (10, 4, 12, 60, 3, 20), (10, 2, 12, 60, 3, 20)]
cases += [tuple(draw.randint(*r) for r in [(1, 15), (1, 6), (1, 20), (1, 120), (1, 10), (1, 30)]) for _ in range(60)]
rows = []
for case in cases:
    found = clamps(*case); assert found == clamps_by_minutes(*case), case
    rows.append([*case, found])
table("clamps.csv", ["panels", "clamps", "glue", "cure", "unclamp", "sand", "finish"], rows)
cases = [(7, 3, 20, 12, 10, 4, 300, 5, 2, 8), (6, 3, 20, 12, 10, 4, 300, 5, 2, 8), (1, 3, 20, 12, 10, 4, 300, 5, 2, 8),
         (7, 3, 20, 12, 10, 4, 20, 5, 2, 8)]
cases += [tuple(draw.randint(*r) for r in [(1, 15), (1, 6), (1, 30), (1, 15), (1, 20), (1, 5), (1, 300), (1, 10), (1, 4), (1, 20)])
          for _ in range(60)]
rows = []
for case in cases:
    found = kiln(*case); assert found == kiln_by_rounds(*case), case
    rows.append([*case, found])
table("kiln.csv", ["pieces", "holds", "setup", "form", "load", "load_each", "fire", "unload", "unload_each", "finish_each", "finish"], rows)
thursday = 3 * 1440 + 780
cases = [(1, 120, 1440, 3, thursday), (4, 30, 1440, 3, thursday), (1, 30, 1440, 3, thursday), (8, 45, 1440, 3, thursday),
         (2, 600, 1440, 3, thursday), (3, 120, 60, 4, thursday), (12, 45, 720, 2, thursday), (5, 200, 2880, 3, thursday)]
rows = []
for case in cases:
    found = coats(*case); assert found == coats_by_loop(*case), case
    rows.append([*case, found])
table("coats.csv", ["pieces", "coat", "cure", "coats", "start", "finish"], rows)
# Seven pots: formed by 35, the last dry at 55; bisque of four 40 to 150 once those are dry; and so on in tests/all/calendar.rs.
cases = [(7, 5, 20, 4, 10, 100, 6, 3, 12, 150, 3, 1), (7, 5, 20, 4, 10, 100, 6, 3, 12, 150, 3, 2), (1, 5, 20, 4, 10, 100, 6, 3, 12, 150, 3, 1)]
cases += [tuple(draw.randint(*r) for r in [(1, 14), (1, 20), (1, 200), (1, 6), (1, 30), (1, 200), (1, 20), (1, 6), (1, 30), (1, 200), (1, 20), (1, 2)])
          for _ in range(80)]
rows = []
for case in cases:
    found = firings(*case); assert found == firings_by_minutes(*case), case
    rows.append([*case, found])
table("firings.csv", ["pieces", "form", "dry", "bisque", "load", "fire", "glaze", "gloss", "load_gloss", "fire_gloss", "finish_each",
                      "kilns", "finish"], rows)
