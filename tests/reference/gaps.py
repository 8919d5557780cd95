"""What the demo's shelf serves, and how small a shelf could be, for tests/it/gaps.rs. Writes gaps.tsv beside itself.

Shares nothing with the program. The share is a Monte Carlo (numpy): lumens and lengths are drawn, and every box on hand
is put to every lesion by the rule as it is published (reference diameter, the next size down where no size is made
inside the window). The smallest shelf is a mixed integer program for HiGHS. Needs numpy 2 and highspy:
    python3 tests/reference/gaps.py            writes gaps.tsv
    python3 tests/reference/gaps.py --check    fails where gaps.tsv says something else
"""
import csv, datetime, math, os, sys, tomllib

import highspy
import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.join(HERE, "..", "..")
TODAY = datetime.date(2026, 11, 25)
DRAWS = 400_000
SEGMENTS = {"right": [("5", 4.5, .5), ("6", 3.7, .4), ("8", 1.9, .4), ("1", 3.9, .6), ("11", 3.4, .5)],
            "left": [("5", 4.5, .5), ("6", 3.7, .4), ("8", 1.9, .4), ("1", 2.8, .5), ("11", 4.2, .6)]}


def catalogue():
    """(product, diameter, limit, larger diameters of the product, length, ref, identifiers) of each stent."""
    boxes = []
    for name in sorted(os.listdir(os.path.join(ROOT, "catalogues"))):
        if not name.endswith(".toml") or name == "guides.toml":
            continue
        with open(os.path.join(ROOT, "catalogues", name), "rb") as f:
            p = tomllib.load(f)
        if p["kind"] != "drug-eluting stent":
            continue
        for d in p["diameter"]:
            mm, limit = d["mm"], d.get("expansion_limit_mm")
            if limit is None:
                rows = dict(map(tuple, d.get("chart", [])))
                limit = rows.get(d["rated_burst_atm"], mm)
            larger = sorted(o["mm"] for o in p["diameter"] if o["mm"] > mm)
            for b in d["boxes"]:
                boxes.append((p["id"], mm, limit, larger, b["length_mm"], b["ref"], set(b["di"])))
    return boxes


def on_hand(boxes):
    there = set()
    with open(os.path.join(ROOT, "catalogues", "room", "stock.csv"), newline="") as f:
        for row in csv.DictReader(f):
            if int(row["count"]) > 0 and datetime.date.fromisoformat(row["use_by"]) >= TODAY:
                there.add(row["di"])
    return [b for b in boxes if b[6] & there]


def fits(box, x, need, excess):
    """Does this box serve lesions of these lumens and needed lengths?"""
    _, d, limit, larger, length, _, _ = box
    inside = (x <= d + 1e-9) & (d <= 1.1 * x + 1e-9)
    none_made = np.ones(len(x), bool)
    none_between = np.ones(len(x), bool)
    for l in larger:
        none_made &= ~((x <= l) & (l <= 1.1 * x))
        none_between &= ~(l <= x)
    down = (d <= x) & (x - 0.5 <= d) & none_made & none_between & (x <= limit)
    return (inside | down) & (length >= need) & (length - need < excess)


def monte_carlo(boxes, side, excess, rng):
    rows, mean, var = [], 0.0, 0.0
    for segment, mu, sd in SEGMENTS[side]:
        x = rng.normal(mu, sd, DRAWS)
        need = 16.0 * np.exp(0.5 * rng.normal(size=DRAWS)) + 6.0
        ok = np.zeros(DRAWS, bool)
        for box in boxes:
            ok |= fits(box, x, need, excess)
        share = ok.mean()
        error = math.sqrt(max(share * (1 - share), 1e-6) / DRAWS)
        rows.append((segment, share, error))
        mean += share / 5
        var += error ** 2 / 25
    return rows + [("all", mean, math.sqrt(var))]


def phi(z):
    return 0.5 * math.erfc(-z / math.sqrt(2))


def smallest(boxes, side, excess, target):
    """Cells by trying a point in each: which boxes serve it."""
    edges = {e for _, d, limit, larger, *_ in boxes for e in
             (d, d / 1.1, d + 0.5, limit, *larger, *(l / 1.1 for l in larger))}
    xs = sorted(edges)
    ls = sorted({e for b in boxes for e in (b[4], b[4] - excess)})
    xm = np.array([(a + b) / 2 for a, b in zip(xs, xs[1:])])
    px = np.array([sum(phi((b - mu) / sd) - phi((a - mu) / sd) for _, mu, sd in SEGMENTS[side]) / 5
                   for a, b in zip(xs, xs[1:])])
    below = lambda l: phi(math.log((l - 6) / 16) / 0.5) if l > 6 else 0.0
    pl = np.array([below(b) - below(a) for a, b in zip(ls, ls[1:])])
    cells = {}
    wide = [fits((*b[:4], 0, *b[5:]), xm, np.zeros(len(xm)), 1) for b in boxes]
    for j, (a, b) in enumerate(zip(ls, ls[1:])):
        lm = (a + b) / 2
        long = [box[4] >= lm and box[4] - lm < excess for box in boxes]
        for i in range(len(xm)):
            who = frozenset(k for k in range(len(boxes)) if long[k] and wide[k][i])
            if who and px[i] * pl[j] > 0:
                cells[who] = cells.get(who, 0.0) + px[i] * pl[j]
    possible = sum(cells.values())
    goal = target if possible >= target else target * possible
    # Boxes that serve the same cells are one column.
    keys = list(cells)
    column = {}
    for k in range(len(boxes)):
        column.setdefault(frozenset(i for i, who in enumerate(keys) if k in who), k)
    used = [k for cover, k in column.items() if cover]
    h = highspy.Highs()
    h.setOptionValue("output_flag", False)
    h.setOptionValue("mip_rel_gap", 0.0)
    h.setOptionValue("primal_feasibility_tolerance", 1e-9)
    h.setOptionValue("mip_feasibility_tolerance", 1e-9)
    y = {k: h.addBinary(1.0) for k in used}
    z = [h.addVariable(0.0, 1.0, 0.0) for _ in keys]
    for i, who in enumerate(keys):
        h.addConstr(z[i] <= sum(y[k] for k in used if k in who))
    # Scaled, so that the solver's tolerance is far below what one box adds; specks are below it and left out.
    h.addConstr(sum(1e3 * cells[who] * z[i] for i, who in enumerate(keys) if cells[who] > 1e-11) >= 1e3 * goal - 1e-6)
    h.minimize()
    assert h.modelStatusToString(h.getModelStatus()) == "Optimal"
    return possible, goal, round(h.getObjectiveValue())


def main():
    rng = np.random.default_rng(20261125)
    every = catalogue()
    there = on_hand(every)
    lines = ["# python3 tests/reference/gaps.py: numpy Monte Carlo, HiGHS. what, dominance, excess_mm, then as named",
             "# share: segment, share, standard error; smallest: target, possible, goal, boxes"]
    for side, excess in [("right", 8.0), ("left", 8.0), ("right", 5.0)]:
        for segment, share, error in monte_carlo(there, side, excess, rng):
            lines.append(f"share\t{side}\t{excess:g}\t{segment}\t{share:.6f}\t{error:.6f}")
    for side, excess, target in [("right", 8.0, .95), ("left", 8.0, .95), ("right", 12.0, .95), ("right", 8.0, .8),
                                 ("right", 8.0, .5), ("left", 20.0, .99)]:
        possible, goal, boxes = smallest(every, side, excess, target)
        lines.append(f"smallest\t{side}\t{excess:g}\t{target:g}\t{possible:.9f}\t{goal:.9f}\t{boxes}")
    text = "\n".join(lines) + "\n"
    path = os.path.join(HERE, "gaps.tsv")
    if "--check" in sys.argv:
        if open(path).read() != text:
            sys.exit("gaps.tsv is not what this script finds; run it without --check and look at the difference")
        return
    open(path, "w").write(text)
    print(text)


main()
