"""Verdicts by the spelt-out rules of steadiness.py, over many lesions and products, for src/fit/verdict_tests.rs.

Writes verdicts.tsv beside itself: python3 tests/reference/verdicts.py
"""
import os, random
from steadiness import mapped, verdict

RULES = ["distal-eem", "smaller-eem", "distal-lumen", "mean-lumen", "reference-diameter"]
NAMES = {"after": "fits-after-post-dilatation"}


def main():
    draw = random.Random(20260101)
    hundredths = lambda low, high: draw.randint(low, high) / 100
    rows = ["rule\tdistal_lumen\tproximal_lumen\tdistal_eem\tproximal_eem\tbranch_lumen\tlaw\tlabels\tdiameter\tlimit\tburst\tverdict"]
    count = {}
    while len(rows) <= 3000:
        rule = draw.choice(RULES)
        labels = sorted(draw.sample([2 + q / 4 for q in range(11)], draw.randint(2, 9)))
        d = draw.choice(labels)
        # Measures near the diameter, on its edges often.
        near = lambda: round(d + draw.choice([-0.25, 0.0, 0.25, 0.5, hundredths(-40, 70)]), 2)
        eem = near()
        v = {"de": eem, "pe": round(eem + hundredths(-30, 60), 2), "dl": near(), "pl": near()}
        if rule.endswith("eem"):
            v["dl"] = None
            v["pl"] = round(v["pe"] - hundredths(0, 90), 2) if draw.random() < 0.6 else None
        else:
            v["de"] = v["pe"] = None
            v["pl"] = v["pl"] if rule == "mean-lumen" or draw.random() < 0.6 else None
        law = draw.choice(["murray", "finet", "huo-kassab"])
        v["bl"] = hundredths(120, 350) if draw.random() < 0.5 else None
        if rule == "distal-eem" and draw.random() < 0.3:
            v["pe"] = None
        if any(m is not None and not 1 <= m <= 8 for m in v.values()):
            continue
        # Odd thousandths: facts of the file stand on no edge of a measure, where rounding would decide.
        burst = d + draw.randint(5, 35) / 100 + 0.0017 if draw.random() < 0.7 else None
        limit = (burst or d) + draw.randint(0, 80) / 100 + 0.0031 if draw.random() < 0.7 else None
        case = dict(rule=rule, labels=labels, d=d, limit=limit, burst=burst, law=law)
        at = [None if m is None else round(m, 10) for m in mapped(case, v)]
        found = verdict(case, *at)
        # Each rule and verdict gets its share.
        if count.get((rule, found), 0) >= 200:
            continue
        count[rule, found] = count.get((rule, found), 0) + 1
        show = lambda m: "" if m is None else repr(m)
        fields = [rule] + [show(v[k]) for k in ("dl", "pl", "de", "pe", "bl")] + [law, ",".join(map(repr, labels))]
        rows.append("\t".join(fields + [show(d), show(limit), show(burst), NAMES.get(found, found)]))
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "verdicts.tsv"), "w") as out:
        out.write("\n".join(rows) + "\n")
    for key in sorted(count):
        print(*key, count[key])


if __name__ == "__main__":
    main()
