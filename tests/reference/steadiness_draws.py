"""Steadiness once more, by Monte Carlo: the rows of steadiness.tsv against seeded random draws.

A third way beside the closed form of the program and the integral of steadiness.py, whose verdict it uses. Ends with
1 where a row lies more than five standard errors of the draws away. Python 3 only.
"""
import os
import random
import sys

import steadiness

DRAWS, SEED = 40_000, 20260101


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "steadiness.tsv")) as table:
        rows = [line.rstrip("\n").split("\t") for line in table][1:]
    written = {row[0]: float(row[-1]) for row in rows}
    rng = random.Random(SEED)
    wrong = 0
    for case in steadiness.cases():
        names = [n for n in ("bl", "pl", "pe", "dl", "de") if case.get(n) is not None and steadiness.reads(case, n)]
        hits = 0
        for _ in range(DRAWS):
            hits += bool(steadiness.good(case, {n: rng.gauss(case[n], case["sd"]) for n in names}))
        drawn, kept = hits / DRAWS, written[case["id"]]
        error = max((kept * (1 - kept) / DRAWS) ** 0.5, 1 / DRAWS)
        if abs(drawn - kept) > 5 * error:
            wrong += 1
            print(f"{case['id']}: {drawn:.5f} drawn, {kept:.5f} written, {abs(drawn - kept) / error:.1f} errors apart")
    print(f"{len(written)} rows against {DRAWS} draws each (seed {SEED}): {wrong} apart")
    return wrong > 0


if __name__ == "__main__":
    sys.exit(main())
