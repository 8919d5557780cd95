"""Random spans, each solved as an integer program: `span_instances.tsv`, against which the program is compared.

    python3 -m venv /tmp/venv && /tmp/venv/bin/pip install scipy
    /tmp/venv/bin/python tests/reference/span_instances.py > tests/reference/span_instances.tsv

Shares no code and no method with the program. A flow of one unit runs through nodes (devices so far, place, last
labelled diameter); each arc is one box put at one place, judged here by a second implementation of the rules; the
pieces of a box are a side constraint on all of its arcs. HiGHS (scipy.optimize.milp) solves it twice: fewest devices and least
total length, then, those fixed, the least sum of |D - aim|. `ms` is the time inside the solver for both.
"""

import random
import sys
import time

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

SEED, COUNT = 20260125, 2000
PLANNED, MOST, STEP, DOWN, TINY = 3, 5, 0.25, 0.5, 1e-9
LARGEST_STEP = 0.5


def instance(rng):
    rule = rng.choice(["distal-eem", "distal-lumen"])
    distal = round(rng.uniform(2.5, 3.6), 2)
    proximal = round(distal + rng.uniform(0, 0.9), 2) if rng.random() < 0.6 else None
    need = rng.randint(25, 115)
    limit = need + rng.randint(0, 8) if rng.random() < 0.4 else None
    products = []
    for _ in range(rng.choice([1, 1, 2])):
        diameters = sorted(rng.sample([2.25, 2.5, 2.75, 3.0, 3.25, 3.5, 3.75, 4.0], rng.randint(3, 6)))
        sizes = []
        for d in diameters:
            burst = round(d + rng.uniform(0.05, 0.3), 2)
            lengths = sorted(rng.sample([7, 11, 16, 20, 25, 29, 34, 39], rng.randint(2, 5)))
            counted = [(length, rng.choice([0, 1, 1, 2])) for length in lengths]
            sizes.append((d, round(burst + rng.uniform(0, 0.8), 2), burst, counted))
        products.append(sizes)
    return rule, distal, proximal, need, limit, rng.randint(2, 6), rng.random() < 0.6, products


def reference(distal, proximal, need, at):
    if proximal is None:
        return distal
    return proximal if at >= need else distal + (proximal - distal) * at / need


def off(rule, sizes, d, limit, x, y):
    """|D - x| where the diameter fits between these references (y: none without a proximal measure)."""
    labels = [size[0] for size in sizes]
    eem = rule == "distal-eem"
    ends = (lambda m: (m - STEP, m)) if eem else (lambda m: (m, m + STEP))
    lower, upper = ends(x)
    target = None
    if y is not None:
        upper = min(upper, ends(y)[1])
        target = y - 0.25 if eem else y
    if d > upper + TINY or lower > limit + TINY or (target is not None and target > limit + TINY):
        return None
    if d < lower - TINY:
        below = [label for label in labels if label <= x + TINY]
        if not below or max(below) != d or d < x - DOWN - TINY:
            return None
        if not eem and any(lower - TINY <= label <= upper + TINY for label in labels):
            return None
    return abs(d - x)


def solve(case, sizes):
    """(devices, total, off) of one product, and the seconds in the solver."""
    rule, distal, proximal, need, room, most_devices, stocked, _ = case
    boxes = [(d, limit, length, count) for d, limit, _, lengths in sizes for length, count in lengths]
    nodes, arcs, layer = {(0, 0, None): 0}, [], [(0, 0, None)]
    for k in range(1, most_devices + 1):
        following = []
        for node in layer:
            _, place, last = node
            x = reference(distal, proximal, need, place)
            for index, (d, limit, length, count) in enumerate(boxes):
                if (stocked and count == 0) or (last is not None and not 0 <= d - last <= LARGEST_STEP + TINY):
                    continue
                y = None if proximal is None else reference(distal, proximal, need, place + length)
                found = off(rule, sizes, d, limit, x, y)
                if found is None:
                    continue
                to = (k, place + length - PLANNED, d)
                if to not in nodes:
                    nodes[to] = len(nodes)
                    following.append(to)
                arcs.append((nodes[node], nodes[to], index, found, length))
        layer = following
    sink, ends = len(nodes), []
    for (k, place, d), node in nodes.items():
        if k == 0 or place + PLANNED < need:
            continue
        if room is not None and (room < need or place + PLANNED * k - MOST * (k - 1) > room):
            continue
        ends.append(len(arcs))
        arcs.append((node, sink, None, 0.0, 0))
    if not ends:
        return None, 0.0
    flow = numpy.zeros(sink + 1)
    flow[0], flow[sink] = 1, -1
    rows = [arc[0] for arc in arcs] + [arc[1] for arc in arcs]
    columns = list(range(len(arcs))) * 2
    values = [1.0] * len(arcs) + [-1.0] * len(arcs)
    shape = (sink + 1, len(arcs))
    rules = [LinearConstraint(coo_matrix((values, (rows, columns)), shape=shape).tocsr(), flow, flow)]
    if stocked:
        used = [(arc[2], column) for column, arc in enumerate(arcs) if arc[2] is not None]
        matrix = coo_matrix(([1.0] * len(used), ([u[0] for u in used], [u[1] for u in used])),
                            shape=(len(boxes), len(arcs))).tocsr()
        rules.append(LinearConstraint(matrix, -numpy.inf, [box[3] for box in boxes]))
    length = numpy.array([1000.0 + arc[4] if arc[2] is not None else 0.0 for arc in arcs])
    seconds = 0.0

    def run(objective, rules):
        nonlocal seconds
        began = time.perf_counter()
        result = milp(objective, constraints=rules, integrality=numpy.ones(len(arcs)), bounds=Bounds(0, 1),
                      options={"mip_rel_gap": 0.0})
        seconds += time.perf_counter() - began
        return result

    first = run(length, rules)
    if first.status == 2:
        return None, seconds
    assert first.status == 0, first
    value = round(first.fun)
    rules.append(LinearConstraint(length.reshape(1, -1), value - 0.5, value + 0.5))
    second = run(numpy.array([arc[3] for arc in arcs]), rules)
    assert second.status == 0, second
    chosen = [arc for arc, x in zip(arcs, second.x) if x > 0.5 and arc[2] is not None]
    n, total = len(chosen), sum(arc[4] for arc in chosen)
    assert 1000 * n + total == value
    return (n, total, sum(arc[3] for arc in chosen)), seconds


def main():
    rng = random.Random(SEED)
    print("rule\tdistal\tproximal\tneed\tlimit\tmax_devices\tstocked\tproducts\tdevices\ttotal\toff\tms")
    # A number as argument: only the first so many.
    for number in range(int(sys.argv[1]) if len(sys.argv) > 1 else COUNT):
        case = instance(rng)
        rule, distal, proximal, need, limit, most, stocked, products = case
        best, seconds = None, 0.0
        for sizes in products:
            found, took = solve(case, sizes)
            seconds += took
            if found and (best is None or found < best):
                best = found
        written = "|".join(
            "/".join(f"{d}:{expansion}:{burst}:" + ",".join(f"{length}*{count}" for length, count in lengths)
                     for d, expansion, burst, lengths in sizes)
            for sizes in products)
        answer = f"{best[0]}\t{best[1]}\t{best[2]:.9f}" if best else "-\t-\t-"
        dash = lambda value: "-" if value is None else value
        print(f"{rule}\t{distal}\t{dash(proximal)}\t{need}\t{dash(limit)}\t{most}\t{int(stocked)}\t{written}\t"
              f"{answer}\t{seconds * 1000:.1f}")
        if number % 100 == 0:
            print(number, file=sys.stderr)


main()
