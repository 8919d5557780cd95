"""Steadiness by brute force, for tests/it/steadiness.rs. Writes steadiness.tsv beside itself.

Shares nothing with the program: the verdict is spelt out from the published rules, a missing fact is tried with every
value that can matter, and the probability is a nested adaptive integral of "does it fit" whose innermost measure is
scanned for changes that bisection then finds. Needs Python 3 only: python3 tests/reference/steadiness.py
"""
import math, os, sys

INF = float("inf")


def phi(z):
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def ends(rule, m):
    if rule in ("distal-eem", "smaller-eem"):
        return m - 0.25, m
    if rule in ("distal-lumen", "mean-lumen"):
        return m, m + 0.25
    return 1.0 * m, 1.1 * m


def one_verdict(rule, labels, d, limit, burst, x, y, p):
    lo, hi = ends(rule, x)
    if y is not None:
        hi = min(hi, ends(rule, y)[1])
    if d > hi:
        return "no"
    if (p is not None and p > limit) or lo > limit:
        return "no"
    inside = lo <= d <= hi
    near = [l for l in labels if x - 0.5 <= l <= x]
    down = bool(near) and max(near) == d and not inside
    up_rule = rule in ("distal-lumen", "mean-lumen", "reference-diameter")
    if up_rule and any(lo <= l <= hi for l in labels):
        down = False
    if d < lo and not down:
        return "undersized"
    if down and up_rule:
        return "after"
    if p is None:
        return "fits"
    return "after" if p > max(d, min(burst, hi)) else "fits"


def mother(law, a, b):
    """What the law makes of two daughters; none where a daughter is not smaller than it."""
    if b <= 0:
        return a
    n = {"murray": 3.0, "huo-kassab": 7.0 / 3.0}.get(law)
    m = (a ** n + b ** n) ** (1.0 / n) if n else 0.678 * (a + b)
    return m if m > max(a, b) + 1e-9 else None


def verdict(case, x, y, p, lumen):
    labels, d, limit, burst = case["labels"], case["d"], case["limit"], case["burst"]
    rule = case["rule"]
    # A stent that can be apposed is not refused for its vessel's outer wall.
    if None not in (limit, burst, p, lumen) and p > limit >= lumen:
        p = limit
    lo, hi = ends(rule, x)
    hi = hi if y is None else min(hi, ends(rule, y)[1])
    near = [v + e for v in (lo, hi, p) if v is not None for e in (-1e-13, 0.0, 1e-13)]
    least = d if burst is None else burst
    limits = [limit] if limit is not None else [v for v in [least, 1e3] + near if v >= least]
    found = set()
    for l in limits:
        for b in [burst] if burst is not None else [v for v in [d, l] + near if d <= v <= l]:
            found.add(one_verdict(rule, labels, d, l, b, x, y, p))
    return found.pop() if len(found) == 1 else "unknown"


def mapped(case, v):
    """The measures as drawn -> x, y, P, proximal lumen."""
    rule, dl, pl, de, pe, bl = case["rule"], *(v.get(k) for k in ("dl", "pl", "de", "pe", "bl"))
    if rule in ("distal-lumen", "reference-diameter"):
        by_law = mother(case["law"], dl, bl) if pl is None and bl is not None else pl
        return dl, pl, by_law, pl
    if rule == "mean-lumen":
        return (dl + pl) / 2.0, None, pl, pl
    p = pe - 0.25 if pe is not None else pl
    if rule == "smaller-eem":
        return min(de, pe), None, p, pl
    return de, pe, p, pl


def good(case, v):
    return verdict(case, *mapped(case, v)) in ("fits", "after")


XGK = [0.991455371120812639, 0.949107912342758525, 0.864864423359769073, 0.741531185599394440,
       0.586087235467691130, 0.405845151377397167, 0.207784955007898468, 0.0]
WGK = [0.022935322010529225, 0.063092092629978553, 0.104790010322250184, 0.140653259715525919,
       0.169004726639267903, 0.190350578064785410, 0.204432940075298892, 0.209482141084727828]
WG = [0.129484966168869693, 0.279705391489276668, 0.381830050505118945, 0.417959183673469388]


def gk(f, a, b):
    m, h = (a + b) / 2, (b - a) / 2
    k = g = 0.0
    for i in range(8):
        s = f(m) if i == 7 else f(m - h * XGK[i]) + f(m + h * XGK[i])
        k += WGK[i] * s
        if i % 2:
            g += WG[i // 2] * s
    return k * h, abs(k - g) * h


def adaptive(f, a, b, tolerance, depth=45):
    value, error = gk(f, a, b)
    if error <= tolerance or depth == 0:
        return value
    m = (a + b) / 2
    return adaptive(f, a, m, tolerance / 2, depth - 1) + adaptive(f, m, b, tolerance / 2, depth - 1)


def innermost(case, v, name, sd, scan, hints):
    mean = case[name]
    a, b = mean - 8 * sd, mean + 8 * sd
    # The grid alone would step over a narrow stretch; a look close to both sides of every hint does not.
    looks = [a + (b - a) * i / scan for i in range(1, scan + 1)]
    looks += [h + e for h in hints for e in (-1e-9, 1e-9) if a < h + e < b]
    looks.sort()
    at = lambda t: good(case, {**v, name: t})
    total, start, was, last = 0.0, a, at(a), a
    for t in looks:
        now = at(t)
        if now != was:
            lo, hi = last, t
            while hi - lo > 1e-12:
                m = (lo + hi) / 2
                lo, hi = (m, hi) if at(m) == was else (lo, m)
            if was:
                total += phi((hi - mean) / sd) - phi((start - mean) / sd)
            start, was = hi, now
        last = t
    if was:
        total += phi(8.0) - phi((start - mean) / sd)
    return total


def probability(case):
    names = [n for n in ("bl", "pl", "pe", "dl", "de") if case.get(n) is not None and reads(case, n)]
    sd = case["sd"]
    # Hints where to cut first; the integral adapts wherever they miss.
    hints = sorted({v + e for v in case["labels"] + [case["d"], case["limit"] or 0, case["burst"] or 0]
                    for e in (-0.5, -0.25, 0.0, 0.25, 0.5)} | {v / 1.1 for v in case["labels"]})
    scan = 120 if len(names) < 3 else 60

    def level(i, v):
        moving = [t + e for t in v.values() for e in (-0.25, 0.0, 0.25)]
        if case["rule"] == "mean-lumen":
            moving += [2 * h - t for h in hints for t in v.values()] + [t - 0.5 for t in v.values()]
        if case["rule"] == "reference-diameter":
            moving += [t / 1.1 for t in v.values()]
        if "bl" in v:
            n = {"murray": 3.0, "huo-kassab": 7.0 / 3.0}.get(case["law"])
            for m in (case["limit"], case["d"], case["burst"]):
                if m is not None and v["bl"] > 0:
                    moving.append(max(0.0, m ** n - v["bl"] ** n) ** (1 / n) if n else m / 0.678 - v["bl"])
        if i == len(names) - 1:
            return innermost(case, v, names[i], sd, scan, hints + moving)
        name, mean = names[i], case[names[i]]
        a, b = mean - 8 * sd, mean + 8 * sd
        cuts = [a] + sorted(h for h in hints + moving if a < h < b) + [b]
        f = lambda t: math.exp(-0.5 * ((t - mean) / sd) ** 2) / (sd * math.sqrt(2 * math.pi)) * level(i + 1, {**v, name: t})
        tolerance = (1e-11 if len(names) < 3 else 1e-10) / len(cuts)
        return sum(adaptive(f, p, q, tolerance) for p, q in zip(cuts, cuts[1:]) if q - p > 1e-13)

    return level(0, {})


def reads(case, name):
    rule = case["rule"]
    if rule.endswith("eem"):
        return name in ("de", "pe", "pl")
    return name in ("dl", "pl") or name == "bl" and case.get("pl") is None


HALF = [2.0, 2.25, 2.5, 2.75, 3.0, 3.5, 4.0, 4.5]


def cases():
    def case(id, rule, d, limit, burst, sd=0.1, labels=HALF, law="huo-kassab", **measures):
        return dict(id=id, rule=rule, d=d, limit=limit, burst=burst, sd=sd, labels=labels, law=law, **measures)

    yield case("eem-1", "distal-eem", 3.0, 4.0, 3.3, de=3.2)
    yield case("eem-2", "distal-eem", 3.5, None, 3.8, de=3.8)
    yield case("eem-3", "distal-eem", 3.0, 3.4, 3.2, de=3.1, pe=3.6)
    yield case("eem-4", "distal-eem", 3.0, 3.4, None, de=3.1, pe=3.4)
    yield case("eem-5", "distal-eem", 3.0, None, 3.3, de=3.1, pe=3.5)
    yield case("eem-6", "distal-eem", 3.0, None, None, de=3.1, pe=3.3)
    yield case("eem-7", "distal-eem", 3.0, 3.3, 3.2, de=3.15, pl=3.2)
    yield case("eem-8", "distal-eem", 3.0, 3.4, None, de=3.15, pl=3.1)
    yield case("eem-9", "distal-eem", 3.5, 4.0, 3.7, de=3.85, pe=3.6, sd=0.2)
    yield case("eem-10", "distal-eem", 3.0, 3.4, 3.2, de=3.1, pe=3.3, pl=3.25)
    yield case("eem-11", "distal-eem", 3.0, 3.4, None, de=3.1, pe=3.2, pl=3.1)
    yield case("small-1", "smaller-eem", 3.0, 4.0, 3.3, de=3.2, pe=3.15)
    yield case("small-2", "smaller-eem", 3.0, 3.3, 3.2, de=3.1, pe=3.5)
    yield case("small-3", "smaller-eem", 3.0, 3.4, None, de=3.1, pe=3.4)
    yield case("small-4", "smaller-eem", 3.0, 3.3, 3.2, de=3.1, pe=3.25, pl=3.2)
    yield case("small-5", "smaller-eem", 3.0, 3.4, None, de=3.1, pe=3.2, pl=3.1)
    yield case("lumen-1", "distal-lumen", 3.0, 4.0, 3.3, dl=2.9)
    yield case("lumen-2", "distal-lumen", 3.0, 4.0, 3.3, dl=3.1)
    yield case("lumen-3", "distal-lumen", 3.0, 3.4, 3.3, dl=3.1, pl=3.3)
    yield case("lumen-4", "distal-lumen", 3.0, 3.4, None, dl=2.95, pl=3.1)
    yield case("lumen-5", "distal-lumen", 2.75, None, 2.95, dl=2.7, pl=2.9, sd=0.2)
    yield case("lumen-6", "distal-lumen", 3.0, None, None, dl=2.9, pl=2.95)
    yield case("lumen-7", "distal-lumen", 3.0, 3.6, 3.3, dl=3.3, pl=3.3, sd=0.06)
    yield case("mean-1", "mean-lumen", 3.0, 3.5, 3.3, dl=2.7, pl=3.2)
    yield case("mean-2", "mean-lumen", 3.0, 3.3, None, dl=2.8, pl=3.1)
    yield case("mean-3", "mean-lumen", 3.5, None, 3.7, dl=3.4, pl=3.8, sd=0.2)
    yield case("mean-4", "mean-lumen", 3.0, None, None, dl=2.8, pl=3.0)
    yield case("mean-5", "mean-lumen", 3.0, 3.4, 3.2, dl=3.1, pl=3.3, sd=0.25)
    yield case("ref-1", "reference-diameter", 3.0, 4.0, 3.3, sd=0.25, dl=2.85)
    yield case("ref-2", "reference-diameter", 3.0, 3.5, 3.3, sd=0.2, dl=3.05, pl=3.3)
    yield case("ref-3", "reference-diameter", 3.0, 3.5, None, sd=0.2, dl=2.9, pl=3.1)
    yield case("ref-4", "reference-diameter", 3.0, None, 3.2, sd=0.25, dl=3.2, pl=3.1)
    yield case("limit-1", "distal-eem", 3.0, 3.3, 3.2, de=3.1, pe=3.6, pl=3.25)
    yield case("limit-2", "smaller-eem", 3.0, 3.3, 3.2, de=3.15, pe=3.5, pl=3.3)
    yield case("limit-3", "distal-eem", 3.0, None, 3.2, de=3.1, pe=3.5, pl=3.1)
    yield case("law-1", "distal-lumen", 3.0, 3.7, 3.3, dl=2.95, bl=2.5)
    yield case("law-2", "distal-lumen", 3.0, 3.6, None, dl=2.9, bl=2.0, law="murray")
    yield case("law-3", "distal-lumen", 3.0, 3.6, 3.3, sd=0.2, dl=2.9, bl=2.6, law="finet")
    yield case("law-4", "reference-diameter", 3.0, 3.5, 3.3, sd=0.25, dl=2.85, bl=1.1)
    yield case("law-5", "reference-diameter", 3.0, 3.5, None, sd=0.2, dl=2.9, bl=1.4, law="murray")
    yield case("law-6", "distal-lumen", 3.0, 3.3, None, sd=0.25, dl=3.1, bl=1.5, law="finet")
    yield case("law-7", "reference-diameter", 3.0, None, 3.3, sd=0.2, dl=2.9, bl=1.6)
    yield case("law-8", "distal-lumen", 3.0, 3.4, None, sd=0.06, dl=2.8, bl=1.9)
    yield case("law-9", "reference-diameter", 3.0, 3.4, None, sd=0.2, dl=2.85, bl=1.5, law="finet")


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    show = lambda v: "" if v is None else repr(v)
    wanted = sys.argv[1:]
    rows = ["id\trule\tlabels\tdiameter\tlimit\tburst\tsd\tdistal_lumen\tproximal_lumen\tdistal_eem\tproximal_eem\tbranch_lumen\tlaw\tprobability"]
    for c in cases():
        if wanted and c["id"] not in wanted:
            continue
        fields = [c["id"], c["rule"], ",".join(map(repr, c["labels"]))]
        fields += [show(c.get(k)) for k in ("d", "limit", "burst", "sd", "dl", "pl", "de", "pe", "bl")]
        fields.append(c["law"])
        fields.append("%.12f" % probability(c))
        rows.append("\t".join(fields))
        print(rows[-1], flush=True)
    if not wanted:
        with open(os.path.join(here, "steadiness.tsv"), "w") as out:
            out.write("\n".join(rows) + "\n")


if __name__ == "__main__":
    main()
