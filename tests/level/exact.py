#!/usr/bin/env python3
"""Small nets in exact rational arithmetic: writes tests/level/exact.h.  usage: make exact

Weights are spread over 1e-6 to 1e6 (one net: only these two). Every number of
a net is a double, so that its results are rational; they are rounded once.
"""
import math
import random
from fractions import Fraction

GROUND = -1


def tree(n, reach, extra):
    """A random tree from the ground, and more ties between any two."""
    ends = [(GROUND, 0)] + [(random.randrange(max(0, i - reach), i), i) for i in range(1, n)]
    while extra > 0:
        a, b = random.randrange(n), random.randrange(-1, n)
        if a != b:
            ends.append((a, b))
            extra -= 1
    return n, ends


def grid(side):
    ends = [(GROUND, 0), (side * side - 1, GROUND)]
    for i in range(side * side):
        if i % side + 1 < side:
            ends.append((i, i + 1))
        if i + side < side * side:
            ends.append((i + side, i))
    return side * side, ends


def line(n):
    return n, [(GROUND, 0)] + [(i - 1, i) for i in range(1, n)] + [(n - 1, GROUND)]


def wheel(n):
    return n + 1, [(GROUND, 1)] + [(0, i + 1) for i in range(n)] + [(i + 1, (i + 1) % n + 1) for i in range(n)]


def inverse(matrix):
    n = len(matrix)
    rows = [row[:] + [Fraction(i == j) for j in range(n)] for i, row in enumerate(matrix)]
    for k in range(n):
        pivot = rows[k][k]
        rows[k] = [x / pivot for x in rows[k]]
        for i in range(n):
            factor = rows[i][k]
            if i != k and factor != 0:
                rows[i] = [x - factor * y for x, y in zip(rows[i], rows[k])]
    return [row[n:] for row in rows]


def solve(n, ties):
    normal = [[Fraction(0)] * n for _ in range(n)]
    right = [Fraction(0)] * n
    for a, b, weight, short in ties:
        w, s = Fraction(weight), Fraction(short)
        for end, sign in ((a, -1), (b, 1)):
            if end != GROUND:
                normal[end][end] += w
                right[end] += sign * w * s
        if GROUND not in (a, b):
            normal[a][b] -= w
            normal[b][a] -= w
    z = inverse(normal)
    spread = []
    for a, b, _, _ in ties:
        at = lambda i, j: Fraction(0) if GROUND in (i, j) else z[i][j]
        spread.append(at(a, a) + at(b, b) - 2 * at(a, b))
    correction = [sum(z[i][j] * right[j] for j in range(n)) for i in range(n)]
    redundancy = [1 - Fraction(t[2]) * s for t, s in zip(ties, spread)]
    return correction, [z[i][i] for i in range(n)], spread, redundancy


def numbers(name, values):
    print("static const double %s[] = {" % name)
    for i in range(0, len(values), 4):
        print("    " + " ".join(float(v).hex() + "," for v in values[i:i + 4]))
    print("};")


def main():
    random.seed(20260714)
    nets = [line(24), grid(5), wheel(16), tree(20, 20, 14), tree(30, 3, 10), tree(12, 12, 40), tree(26, 5, 26), grid(4)]
    print("/* exact.h - made by tests/level/exact.py: small nets, and their results in exact arithmetic, rounded once */")
    print("#ifndef TESTS_EXACT_H\n#define TESTS_EXACT_H\n\n#include \"rodbook/net.h\"\n")
    for k, (n, ends) in enumerate(nets):
        wide = (lambda: 10.0 ** random.uniform(-6, 6)) if k != len(nets) - 1 else (lambda: random.choice((1e-6, 1e6)))
        ties = [(a, b, wide(), random.randrange(-99, 100) / 8192) for a, b in ends]
        print("static const struct net_tie exact_tie_%d[] = {" % k)
        for a, b, w, s in ties:
            end = lambda i: "NET_GROUND" if i == GROUND else str(i)
            print("    { %s, %s, %s, %s }," % (end(a), end(b), w.hex(), s.hex()))
        print("};")
        for name, values in zip(("correction", "variance", "spread", "redundancy"), solve(n, ties)):
            numbers("exact_%s_%d" % (name, k), values)
        print()
    print("static const struct exact {\n    size_t nodes, ties;\n    const struct net_tie *tie;")
    print("    const double *correction, *variance, *spread, *redundancy;\n} exact_nets[] = {")
    for k, (n, ends) in enumerate(nets):
        print("    { %d, %d, %s }," % (n, len(ends), ", ".join(
            "exact_%s_%d" % (part, k) for part in ("tie", "correction", "variance", "spread", "redundancy"))))
    print("};\n\n#endif")


main()
