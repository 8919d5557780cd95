#!/usr/bin/env python3
"""Appends an odd case to a journal, by another implementation of its format: a HIBC label, a typed label, a box
that nobody read, one that was struck out, texts that bite in a spreadsheet, and no settled end.

Run: python3 tests/reference/odd_case.py JOURNAL     (identifiers are invented; 952 is GS1's prefix for examples)
"""
import hashlib, json, sqlite3, sys

CODE = "ACDEF"
AT = "2026-11-25T18:%02d:00+01:00"
raw = lambda text, arrival="scanned": {"hex": text.encode().hex(), "arrival": arrival}
# Row HI-003 of tests/data/label_vectors.tsv.
HIBC = {"name": "=HYPERLINK(1)", "di": "Q952TN300280", "lot": "LOT7", "serial": "MAR12", "use_by": "2027-02-28",
        "system": "hibc", "raw": raw("]A0+Q952TN300280/$$3270228LOT7R")}
GS1 = {"product": "tarn", "name": "Tarn", "kind": "drug-eluting stent", "reference": "TN30028", "diameter": 3.0, "length": 28.0,
       "di": "09521001300285", "lot": "1E5", "serial": "-7", "use_by": "2027-12-31", "made": "2026-01-31", "system": "gs1",
       "printed": "(01)09521001300285(11)260131(17)271231(10)1E5(21)-7",
       "raw": raw("(01)09521001300285(11)260131(17)271231(10)1E5(21)-7", "typed"), "price": 900.5,
       "owner": {"borrowed": "the next room"}, "shelf": "A2, \"left\""}
opened = lambda item, label, **more: {"what": "box-opened", "item": item, "label": label, "finding": "NO CALL", **more}
FACTS = [
    {"what": "case-begun"},
    {"what": "lesion-measured", "lesion": 2, "measured": {"method": "ivus", "proximal_eem": {"two": [3.4, 3.6]}, "distal_eem": {"area": 7.1},
                                                          "length": 28.0, "guide": 6.0, "segment": "7", "sites": ["ostial"]}},
    {"what": "called", "call": 1, "lesion": 2, "wanted": {"diameter": 3.0, "length": 28.0}, "readiness": "have-ready"},
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
    opened(7, {**GS1, "serial": "10", "length": 18.0}, lesion=2),
    {"what": "fate-given", "item": 7, "fate": "implanted", "lesion": 2},
    {"what": "inflated", "item": 7, "at_atm": 19.0, "rated_burst_atm": 18.0, "lesion": 2},
    {"what": "inflated", "item": 7, "at_atm": 12.0, "seconds": 10, "lesion": 2},
    {"what": "overlap-placed", "lesion": 2, "distal": 1, "proximal": 7, "mm": 2.5, "how": "estimated"},
    {"what": "signed-off", "unsettled": 2, "why": "the next patient is coming"},
]

file = sqlite3.connect(sys.argv[1])
seq, previous = file.execute("SELECT seq, hash FROM journal ORDER BY seq DESC LIMIT 1").fetchone()
for part, fact in enumerate(FACTS):
    seq += 1
    if fact["what"] == "struck-out":
        fact["entry"] = seq - 1
    at = AT % part
    body = json.dumps({"seq": seq, "at": at, "command": "odd-case", "case": CODE, "fact": fact}, ensure_ascii=False)
    digest = hashlib.sha256(previous + body.encode()).digest()
    file.execute("INSERT INTO journal VALUES (?, ?, 'odd-case', ?, ?, ?, ?, ?, ?)", (seq, at, part, CODE, fact["what"], previous, digest, body))
    previous = digest
file.commit()
print(f"case {CODE}: {len(FACTS)} entries appended by another program")
