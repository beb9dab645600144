"""Two small shops, own inventions, worked out in exact fractions without any simulation.

shop_certain.csv: pencil trays. Minutes: milling 30 + 12 N; glue-up 10 per round of at most 4, and 8 N; sanding and finishing
15 + 25 N; packing 6 an order. Lumber 2.5 board feet net a tray and a quarter more, in whole board feet at 9.00, all of it at
8.10 from 20; finish 18.00 a can of 12 trays, whole cans; the rest is not credited. One tray an order: packaging 1.80,
postage 9.50; fee 6.5 % and 0.45. Price 95, target 30.

shop_chance.csv: incense holders. Throwing 20 + 10 N; bisque firing 40 a round of 6, survived with 0.9; glazing 15 (if there
is anything to glaze) and 5 each; glaze firing 40 a round of 6, survived with 0.95; packing 4 an order of one. Clay 1.20,
glaze 0.60, a firing 7.00, an order 1.10 + 5.20 + 0.30. Fee 8 %, price 28, target 25."""
from math import ceil, comb, sqrt
from common import F, dec, table
rows = []
for n in (1, 2, 5, 6, 10):
    minutes = 30 + 12*n + 10*-(-n // 4) + 8*n + 15 + 25*n + 6*n
    feet = ceil(F(5, 2) * F(5, 4) * n)
    lumber = min(feet * (F("8.1") if feet >= 20 else 9), max(feet, 20) * F("8.1"))
    materials = lumber + 18 * -(-n // 12)
    costs = materials + n * (F("1.8") + F("9.5") + F("0.45")); hours = F(minutes, 60)
    profit = n * 95 * F("0.935") - costs
    rows.append([n, minutes, dec(materials), dec(profit), dec(profit / hours), dec((30*hours + costs) / (n * F("0.935")))])
table("shop_certain.csv", ["size", "minutes", "materials", "profit", "rate", "floor"], rows)
rows = []
binom = lambda n, k, p: comb(n, k) * p**k * (1 - p)**(n - k)
for n in (1, 2, 5, 10):
    runs = []
    for s in range(n + 1):
        for g in range(s + 1):
            w = binom(n, s, F(9, 10)) * binom(s, g, F(95, 100))
            firings = -(-n // 6) + -(-s // 6)
            hours = F(20 + 10*n + 40*firings + (15 + 5*s if s else 0) + 4*g, 60)
            costs = F("1.2")*n + F("0.6")*s + 7*firings + g*(F("1.1") + F("5.2") + F("0.3"))
            floor = (25*hours + costs) / (F("0.92") * g) if g else None
            runs.append((w, g, F("0.92")*28*g - costs, hours, floor))
    mean = lambda f: sum(w * f(g, p, h) for w, g, p, h, _ in runs)
    eg, ep, eh = mean(lambda g, p, h: g), mean(lambda g, p, h: p), mean(lambda g, p, h: h); r = ep / eh
    by_floor = sorted((x for x in runs if x[4] is not None), key=lambda x: x[4]); floors = []
    for q in (F(1, 2), F(8, 10), F(9, 10)):
        total, found = F(0), ""
        for w, *_, floor in by_floor:
            total += w
            if total >= q: found = dec(floor); break
        floors.append(found)
    sd = lambda f, m: f"{sqrt(mean(lambda g, p, h: (f(g, p, h) - m)**2)):.10f}"
    # Kurtosis of what the delta method squares: how well its error is known from so many runs.
    square = mean(lambda g, p, h: (p - r*h)**2); kurtosis = mean(lambda g, p, h: (p - r*h)**4) / square**2
    rows.append([n, dec(eg), sd(lambda g, p, h: g, eg), dec(ep), sd(lambda g, p, h: p, ep), dec(eh), sd(lambda g, p, h: h, eh), dec(r),
                 f"{sqrt(square) / eh:.10f}", dec(kurtosis, 6)] + floors)
table("shop_chance.csv", ["size", "good", "good_sd", "profit", "profit_sd", "hours", "hours_sd", "long_run", "delta_error_of_one",
      "delta_kurtosis", "floor_50", "floor_80", "floor_90"], rows)
