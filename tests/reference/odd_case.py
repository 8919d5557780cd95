#!/usr/bin/env python3
"""Appends odd cases to a journal, by another implementation of its format: a HIBC label, a typed label, a box
that nobody read, one that was struck out, texts that bite in a spreadsheet or on a page, and no settled end; a case
that was added to after its signature; one on whose night the clock was set back; one that is empty; one without an end.

Run: python3 tests/reference/odd_case.py JOURNAL     (identifiers are invented; 952 is GS1's prefix for examples)
"""
import hashlib, json, sqlite3, sys

CODE = "ACDEF"
AT = "2026-11-25T18:%02d:00+01:00"
raw = lambda text, arrival="scanned": {"hex": text.encode().hex(), "arrival": arrival}
# Row HI-003 of tests/data/label_vectors.tsv.
HIBC = {"name": "=HYPERLINK(1)", "di": "A123FL300290", "lot": "LOT7", "serial": "MAR12", "use_by": "2027-02-28",
        "system": "hibc", "raw": raw("]A0+A123FL300290/$$3270228LOT7T")}
GS1 = {"product": "fell", "name": "Fell", "kind": "drug-eluting stent", "reference": "FL30029", "diameter": 3.0, "length": 29.0,
       "di": "09521001300292", "lot": "1E5", "serial": "-7", "use_by": "2027-12-31", "made": "2026-01-31", "system": "gs1",
       "printed": "(01)09521001300292(11)260131(17)271231(10)1E5(21)-7",
       "raw": raw("(01)09521001300292(11)260131(17)271231(10)1E5(21)-7", "typed"), "price": 900.5,
       "owner": {"borrowed": "the next room"}, "shelf": "A2, \"left\""}
opened = lambda item, label, **more: {"what": "box-opened", "item": item, "label": label, "finding": "NO CALL", **more}
FACTS = [
    {"what": "case-begun"},
    {"what": "lesion-measured", "lesion": 2, "measured": {"method": "ivus", "proximal_eem": {"two": [3.4, 3.6]}, "distal_eem": {"area": 7.1},
                                                          "length": 29.0, "guide": 6.0, "segment": "7", "sites": ["ostial"]}},
    {"what": "called", "call": 1, "lesion": 2, "wanted": {"diameter": 3.0, "length": 29.0}, "readiness": "have-ready"},
    {"what": "called", "call": 2, "wanted": {"kind": "covered stent"}, "readiness": "asked"},
    {"what": "call-cancelled", "call": 2},
    {"what": "box-at-hand", "item": 1, "call": 1, "label": GS1, "finding": "SAME AS CALL 1"},
    opened(1, GS1, call=1, lesion=2, minutes_ago=3),
    {"what": "inflated", "item": 1, "at_atm": 11.3, "seconds": 20, "chart_mm": 3.0 + 1 / 3, "rated_burst_atm": 18.0, "lesion": 2},
    {"what": "fate-given", "item": 1, "fate": "implanted", "lesion": 2},
    opened(2, HIBC, reason="+not\tasked for"),
    {"what": "fate-given", "item": 2, "fate": "opened-not-used", "why": "would-not-cross"},
    {"what": "back-on-table", "item": 2},
    opened(3, {}),
    {"what": "fate-given", "item": 3, "fate": "lost-in-patient"},
    opened(4, {"name": "@typed by hand", "lot": "0042", "serial": "TRUE"}),
    {"what": "fate-given", "item": 4, "fate": "not-found"},
    opened(5, {**GS1, "serial": "8"}),
    {"what": "struck-out", "entry": None, "why": "slip of the finger"},
    {"what": "box-put-back", "item": 6, "label": {**GS1, "serial": "9"}, "finding": "DIFFERENT"},
    opened(7, {**GS1, "serial": "10", "length": 20.0}, lesion=2),
    {"what": "fate-given", "item": 7, "fate": "implanted", "lesion": 2},
    {"what": "inflated", "item": 7, "at_atm": 19.0, "rated_burst_atm": 18.0, "lesion": 2},
    {"what": "inflated", "item": 7, "at_atm": 12.0, "seconds": 10, "lesion": 2},
    {"what": "overlap-placed", "lesion": 2, "distal": 1, "proximal": 7, "mm": 2.5, "how": "estimated"},
    {"what": "signed-off", "unsettled": 2, "why": "the next patient is coming"},
]

fate = lambda item, what, **more: {"what": "fate-given", "item": item, "fate": what, **more}
unused = lambda item, why: fate(item, "opened-not-used", why=why)
struck = lambda back=1, why="slip of the finger": {"what": "struck-out", "entry": -back, "why": why}
signed = {"what": "signed-off", "unsettled": 0}
TWIN = {key: value for key, value in GS1.items() if key not in ("serial", "owner")} | {"printed": "(01)09521001300292(17)271231(10)1E5", "raw": raw("]d20109521001300292172712311" + "01E5")}
BALLOON = {"product": "tussock", "name": "Tussock", "kind": "non-compliant balloon", "reference": "TK30018", "diameter": 3.0, "length": 18.0, "di": "09521101300185",
           "lot": "A&lt;B", "use_by": "2027-12-01", "system": "gs1", "price": 110.1, "owner": "consigned", "shelf": "# 4", "raw": raw("]C1010952110130018517271201" + "10A&lt;B")}
COATED = {**BALLOON, "product": "furrow", "name": "~~Furrow~~", "kind": "drug-coated balloon", "di": "09521102200125", "lot": "B1", "price": 0.2, "owner": "own", "raw": raw("]d201095211022001251727120110B1")}
up = lambda item, atm, **more: {"what": "inflated", "item": item, "at_atm": atm, **more}
# Two boxes of one lot without a serial number; a balloon in two lesions; recalled and expired boxes opened on purpose;
# a strike of an opening, of a fate, of a signature; what is written after the signature.
LATER = [
    {"what": "case-begun"},
    {"what": "called", "call": 1, "lesion": 1, "wanted": {"product": "fell", "name": "Fell", "diameter": 3.0, "length": 29.0}, "readiness": "asked", "verdict": "fits", "why": "fits | <b>"},
    opened(1, TWIN, call=1, lesion=1), opened(2, TWIN, lesion=2),
    fate(1, "implanted"), fate(2, "implanted", lesion=1), struck(), fate(2, "implanted", lesion=2),
    opened(3, BALLOON, lesion=1), up(3, 14.5, seconds=20, lesion=1, chart_mm=3.01), {"what": "used-again", "item": 3, "lesion": 2}, up(3, 21.0, lesion=2, rated_burst_atm=20.0),
    fate(3, "used", lesion=2),
    opened(4, COATED, lesion=2), up(4, 8.0, seconds=60, lesion=2), fate(4, "used", lesion=2),
    {**opened(5, {**GS1, "lot": "RECALL1", "serial": "S5", "owner": "own"}, reason="nothing else there"), "finding": "STOP: RECALLED"}, fate(5, "implanted", lesion=1),
    {**opened(6, {**GS1, "use_by": "2026-10-31", "serial": "S6", "owner": "own"}, reason="- the last one"), "finding": "STOP: EXPIRED"}, unused(6, "damaged"),
    opened(7, {"di": "09529876543219", "lot": "B9", "system": "gs1", "raw": raw("]d2010952987654321910B9")}), unused(7, "not-needed"),
    opened(8, {**TWIN, "use_by": None}), unused(8, "wrong-size"),
    opened(9, {**TWIN, "lot": None}), fate(9, "implanted", lesion=1),
    {"what": "areas-measured", "item": 1, "msa_mm2": 5.6, "proximal_mm2": 7.1, "distal_mm2": 6.4, "method": "ivus"},
    signed, struck(1, "signed by mistake"), signed,
    opened(10, {**TWIN, "serial": "late"}, minutes_ago=30), unused(10, "dropped-or-unsterile"), struck(), fate(10, "used"),
]
# The clock goes back an hour in the middle, as on the night of 25 October, and then by a slip before the beginning.
NIGHT = [
    ("2026-10-25T02:50:00+02:00", {"what": "case-begun"}),
    ("2026-10-25T02:55:00+02:00", opened(1, TWIN)),
    ("2026-10-25T02:05:00+01:00", opened(2, {**TWIN, "serial": "N2"})),
    ("2026-10-25T02:06:00+01:00", fate(1, "implanted", lesion=1)),
    ("2026-10-25T01:40:00+01:00", {"what": "clock-went-back", "before": "2026-10-25T02:06:00+01:00"}),
    ("2026-10-25T01:40:00+01:00", fate(2, "lost-in-patient")),
    ("2026-10-25T01:41:00+01:00", opened(3, {**TWIN, "serial": "N3"})),
    ("2026-10-25T01:42:00+01:00", unused(3, "would-not-cross")),
    ("2026-10-25T01:43:00+01:00", signed),
]
OPEN = [{"what": "case-begun"}, opened(1, TWIN), opened(2, {**BALLOON, "lot": "=1+1"}), {"what": "box-at-hand", "item": 3, "label": TWIN, "finding": "NO CALL"}, struck(2)]
CASES = {CODE: FACTS, "ACDEH": LATER, "ACDEJ": NIGHT, "ACDEK": [{"what": "case-begun"}], "ACDEM": OPEN}


def bare(label):
    """What was not read is not there."""
    return {key: value for key, value in label.items() if value is not None}


file = sqlite3.connect(sys.argv[1])
seq, previous = file.execute("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1").fetchone()
for code, facts in CASES.items():
    for part, fact in enumerate(facts):
        seq += 1
        at, fact = fact if isinstance(fact, tuple) else (AT % part, fact)
        if "label" in fact:
            fact = {**fact, "label": bare(fact["label"])}
        if fact["what"] == "struck-out":
            # Which entry: so many before this one.
            fact = {**fact, "entry": seq + (fact["entry"] or -1)}
        body = json.dumps({"seq": seq, "at": at, "command": f"odd-case {code}", "case": code, "fact": fact}, ensure_ascii=False)
        digest = hashlib.sha256(previous + body.encode()).digest()
        file.execute("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", (seq, at, f"odd-case {code}", part, code, fact["what"], previous, digest, body))
        previous = digest
    print(f"case {code}: {len(facts)} entries appended by another program")
file.commit()
