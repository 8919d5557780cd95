"""Random spans, each solved as an integer program: `span_instances.tsv`, against which the program is compared.

    python3 -m venv /tmp/venv && /tmp/venv/bin/pip install scipy
    /tmp/venv/bin/python tests/reference/span_instances.py > tests/reference/span_instances.tsv

Shares no code and no method with the program. A flow of one unit runs through nodes (devices so far, place, last
labelled diameter); each arc is one box put at one place, judged here by a second implementation of the rules; the
pieces of a box are a side constraint on all of its arcs. HiGHS (scipy.optimize.milp) solves it twice: fewest devices, then
fewest overlaps on the side branch, then a steady cover, then least total length; then, those fixed, the least sum of
|D - aim|. `ms` is the time inside the solver for both. The measures are by IVUS: a length may be 1 mm off.
"""

import random
import sys
import time

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix

SEED, COUNT = 20261130, 1000
PLANNED, MOST, STEP, DOWN, TINY = 3, 5, 0.25, 0.5, 1e-9
ERROR, STEADY_Z = 1.0, 0.8416212335729143  # of the length, in mm; the normal quantile of 0.8
EXPONENT = 7 / 3  # Huo-Kassab


# What is least first weighs more than all that comes after it can.
DEVICE, ON_BRANCH, UNSTEADY = 100_000, 10_000, 5_000


def instance(rng):
    rule = rng.choice(["distal-eem", "distal-lumen"])
    distal = round(rng.uniform(2.5, 3.6), 2)
    proximal = round(distal + rng.uniform(0, 0.9), 2) if rng.random() < 0.6 else None
    need = rng.randint(25, 115)
    most = need + rng.randint(0, 8) if rng.random() < 0.3 else None
    limit = rng.choice([25, 29, 34]) if rng.random() < 0.2 else None
    branch = rng.randint(3, need - 3) if rng.random() < 0.6 else None
    lumen = round(rng.uniform(1.5, 2.8), 2) if branch and rng.random() < 0.5 else None
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
    return rule, distal, proximal, need, most, limit, branch, lumen, rng.randint(2, 6), rng.random() < 0.6, products


def mother(distal, lumen):
    return (distal ** EXPONENT + lumen ** EXPONENT) ** (1 / EXPONENT)


def reference(vessel, at, beyond):
    """The vessel at a place: straight between its ends but for what the law explains at the branch."""
    distal, proximal, need, branch, lumen = vessel
    if proximal is None:
        return distal
    if at >= need:
        return proximal
    step = max(0.0, min(proximal - distal, mother(distal, lumen) - distal)) if lumen else 0.0
    return distal + (proximal - distal - step) * at / need + (step if beyond else 0.0)


def ends(rule, vessel, begins, stops):
    """Distal reference, proximal one and proximal target of a device between two places."""
    distal, proximal, need, branch, lumen = vessel
    x = reference(vessel, begins, branch is not None and begins >= branch)
    beyond = branch is not None and stops > branch
    y = None if proximal is None else reference(vessel, stops, beyond)
    if y is not None:
        return x, y, y - 0.25 if rule == "distal-eem" else y
    by_law = rule == "distal-lumen" and lumen is not None and beyond
    return x, None, mother(distal, lumen) if by_law else None


def off(rule, sizes, d, limit, x, y, target):
    """|D - x| where the diameter fits between these references (y: none without a proximal measure)."""
    labels = [size[0] for size in sizes]
    eem = rule == "distal-eem"
    window = (lambda m: (m - STEP, m)) if eem else (lambda m: (m, m + STEP))
    lower, upper = window(x)
    if y is not None:
        upper = min(upper, window(y)[1])
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
    rule, distal, proximal, need, room, longest, branch, lumen, most_devices, stocked, _ = case
    vessel = distal, proximal, need, branch, lumen
    boxes = [(d, limit, length, count) for d, limit, _, lengths in sizes for length, count in lengths]
    nodes, arcs, layer = {(0, 0, None): 0}, [], [(0, 0, None)]
    for k in range(1, most_devices + 1):
        following = []
        for node in layer:
            _, place, last = node
            on_branch = bool(place and branch is not None and place - ERROR <= branch <= place + PLANNED + ERROR)
            for index, (d, limit, length, count) in enumerate(boxes):
                if (stocked and count == 0) or (last is not None and d < last) or (longest and length > longest):
                    continue
                found = off(rule, sizes, d, limit, *ends(rule, vessel, place, place + length))
                if found is None:
                    continue
                to = (k, place + length - PLANNED, d)
                if to not in nodes:
                    nodes[to] = len(nodes)
                    following.append(to)
                arcs.append((nodes[node], nodes[to], index, found, DEVICE + ON_BRANCH * on_branch + length))
        layer = following
    sink, done = len(nodes), []
    for (k, place, d), node in nodes.items():
        if k == 0 or place + PLANNED < need:
            continue
        if room is not None and (room < need or place + PLANNED * k - MOST * (k - 1) > room):
            continue
        covered = place + PLANNED if room is None else min(place + PLANNED, room)
        unsteady = covered < need + STEADY_Z * ERROR - TINY
        done.append(len(arcs))
        arcs.append((node, sink, None, 0.0, UNSTEADY * unsteady))
    if not done:
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
    length = numpy.array([float(arc[4]) for arc in arcs])
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
    n, on_branch, unsteady = value // DEVICE, value % DEVICE // ON_BRANCH, value % ON_BRANCH // UNSTEADY
    assert n == len(chosen)
    return (n, on_branch, unsteady, value % UNSTEADY, sum(arc[3] for arc in chosen)), seconds


def main():
    rng = random.Random(SEED)
    print("rule\tdistal\tproximal\tneed\tmost\tlimit\tbranch_at\tbranch_lumen\tmax_devices\tstocked\tproducts\tdevices\ton_branch\ttotal\toff\tms")
    # A number as argument: only the first so many.
    for number in range(int(sys.argv[1]) if len(sys.argv) > 1 else COUNT):
        case = instance(rng)
        rule, distal, proximal, need, most, limit, branch, lumen, devices, stocked, products = case
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
        answer = f"{best[0]}\t{best[1]}\t{best[3]}\t{best[4]:.9f}" if best else "-\t-\t-\t-"
        dash = lambda value: "-" if value is None else value
        print(f"{rule}\t{distal}\t{dash(proximal)}\t{need}\t{dash(most)}\t{dash(limit)}\t{dash(branch)}\t{dash(lumen)}\t"
              f"{devices}\t{int(stocked)}\t{written}\t"
              f"{answer}\t{seconds * 1000:.1f}")
        if number % 100 == 0:
            print(number, file=sys.stderr)


main()
