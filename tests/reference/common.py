"""Shared by the reference scripts: writing a table; the exact distribution of sums of triangular variables."""
import csv, os, sys
from fractions import Fraction as F
from math import comb, factorial
from decimal import Decimal, getcontext
getcontext().prec = 60

def table(name, head, rows):
    with open(os.path.join(sys.argv[1], name), "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n"); w.writerow(head); w.writerows(rows)

def dec(fr, nd=12):
    fr = F(fr); d = Decimal(fr.numerator) / Decimal(fr.denominator)
    return format(d.quantize(Decimal(1).scaleb(-nd)), "f")

def sum_terms(tris):
    """tris: list of (a, m, b, count). A triangular density is c1 (x-a)+ + c2 (x-m)+ + c3 (x-b)+, so the density of the
    sum of n of them is a sum of C (x-K)+^(2n-1) / (2n-1)!, and its distribution function one power up."""
    acc = {F(0): F(1)}; n = 0
    for a, m, b, cnt in tris:
        a, m, b = F(a), F(m), F(b)
        s1 = 2 / ((b - a) * (m - a)); s2 = 2 / ((b - a) * (b - m))
        (c1, k1), (c2, k2), (c3, k3) = (s1, a), (-(s1 + s2), m), (s2, b)
        new = {}
        for i in range(cnt + 1):
            for j in range(cnt + 1 - i):
                l = cnt - i - j
                co = comb(cnt, i) * comb(cnt - i, j) * c1**i * c2**j * c3**l
                kk = i * k1 + j * k2 + l * k3
                for K, C in acc.items():
                    new[K + kk] = new.get(K + kk, F(0)) + C * co
        acc = new; n += cnt
    return 2 * n, sorted(acc.items())

def cdf_exact(terms, x):
    p, items = terms; x = F(x); s = F(0)
    for K, C in items:
        if K >= x: break
        s += C * (x - K) ** p
    return s / factorial(p)

def bisect(cdf, q, lo, hi, bits=60):
    lo, hi, q = F(lo), F(hi), F(q)
    for _ in range(bits):
        mid = (lo + hi) / 2
        if cdf(mid) < q: lo = mid
        else: hi = mid
    return (lo + hi) / 2
