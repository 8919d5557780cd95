#!/usr/bin/env python3
"""Writes the demo catalogues (catalogues/*.toml) and the demo room (catalogues/room/stock.csv).

Run it from the top of the project: python3 tests/reference/demo_catalogue.py
Everything is invented; the same input gives the same bytes. Python's standard library only.

GTINs: prefix 952 (reserved by GS1 for examples), four digits of the product, three of the diameter in
hundredths of a millimetre, two of the length, one check digit (mod 10, GS1 General Specifications 7.9).
"""

import datetime
import hashlib
import pathlib

ROOT = pathlib.Path(__file__).resolve().parents[2] / "catalogues"
TODAY = datetime.date(2026, 11, 25)


def gtin(body13):
    assert len(body13) == 13, body13
    total = sum(int(d) * (3 if i % 2 == 0 else 1) for i, d in enumerate(body13))
    return body13 + str(-total % 10)


def sized_di(code, mm, length):
    return gtin(f"0952{code}{round(mm * 100):03d}{length:02d}")


def sundry_di(code, number):
    return gtin(f"0952{code}{number:05d}")


def die(*words):
    """A number that depends on these words only."""
    return int.from_bytes(hashlib.sha256("/".join(map(str, words)).encode()).digest()[:6], "big")


def num(x):
    return f"{x:.2f}"


TARN_275 = [(8, 2.62), (9, 2.66), (10, 2.71), (11, 2.75), (12, 2.78), (14, 2.84), (16, 2.90), (18, 2.95)]


def curve(mm, nominal, rated, first, step, below, above):
    """Rows from `first` to `rated`: `below` and `above` are percent of growth per atmosphere around nominal."""
    rows = []
    for atm in sorted(set(range(first, rated + 1, step)) | {nominal, rated}):
        percent = below if atm < nominal else above
        rows.append((atm, round(mm * (1 + (atm - nominal) * percent / 100), 2)))
    for (_, a), (_, b) in zip(rows, rows[1:]):
        assert b > a, (mm, rows)
    return rows


def like_tarn(mm):
    """The chart of the 2.75, in proportion."""
    rows = [(atm, mm if atm == 11 else round(d * mm / 2.75, 2)) for atm, d in TARN_275]
    for (_, a), (_, b) in zip(rows, rows[1:]):
        assert b > a, (mm, rows)
    return rows


def by_group(mm, groups):
    """Platform limits belong to the pattern, not to the size: the first group that reaches this diameter."""
    return next(limit for last, limit in groups if mm <= last)


def stent(id, code, letters, maker, kind, material, strut, mms, lengths, *, nominal, rated, chart, groups,
          crossing, price, guide=0.056, verified=True, note="", no_chart=(), no_limit=(), second=()):
    out = head(id, maker, kind, material, price, verified, note, strut=strut, guide=guide, shaft=145)
    for i, mm in enumerate(mms):
        rows = chart(mm)
        out += ["", "[[diameter]]", f"mm = {num(mm)}", f"crossing_mm = {num(crossing + 0.02 * i)}"]
        if mm not in no_limit:
            limit = by_group(mm, groups)
            assert limit >= rows[-1][1], (id, mm)
            out.append(f"expansion_limit_mm = {num(limit)}")
        out += pressures(nominal, rated, None if mm in no_chart else rows)
        out += boxes(code, letters, mm, lengths(mm), second)
    write(f"{id}.toml", out)


def balloon(id, code, letters, maker, kind, mms, lengths, *, nominal, rated, chart, crossing, price,
            material=None):
    out = head(id, maker, kind, material, price, True, "", shaft=142)
    for i, mm in enumerate(mms):
        out += ["", "[[diameter]]", f"mm = {num(mm)}", f"crossing_mm = {num(crossing + 0.02 * i)}"]
        out += pressures(nominal, rated, chart(mm))
        out += boxes(code, letters, mm, lengths(mm), ())
    write(f"{id}.toml", out)


def head(id, maker, kind, material, price, verified, note, strut=None, guide=None, shaft=None):
    out = ["# Invented for the demo. Written by tests/reference/demo_catalogue.py."]
    out += [f"# {line}" for line in note.splitlines()]
    out += ["schema = 1", f'id = "{id}"', f'name = "{id.title().replace("-", " ")}"',
            f'maker = "{maker} (invented)"', f'kind = "{kind}"']
    out += [f'material = "{material}"'] if material else []
    out += [f"strut_um = {strut}"] if strut else []
    out += [f"shaft_cm = {shaft}", "wire_in = 0.014"] if shaft else []
    out += [f"guide_min_id_in = {guide}"] if guide else []
    out += [f"price = {price}"]
    out += [] if verified else ["verified = false"]
    return out


def pressures(nominal, rated, rows):
    out = [f"nominal_atm = {nominal}", f"rated_burst_atm = {rated}"]
    if rows:
        out.append("chart = [" + ", ".join(f"[{atm}, {num(mm)}]" for atm, mm in rows) + "]")
    return out


BOXES = {}  # REF -> identifiers


def boxes(code, letters, mm, lengths, second):
    out = ["boxes = ["]
    for length in lengths:
        ref = f"{letters}{round(mm * 100):03d}{length:02d}"
        di = [sized_di(code, mm, length)]
        if (mm, length) in second:
            di.append(sized_di(str(int(code) + 900), mm, length))
        BOXES[ref] = di
        listed = ", ".join(f'"{x}"' for x in di)
        out.append(f'  {{ length_mm = {length}, ref = "{ref}", di = [{listed}] }},')
    return out + ["]"]


def other(id, code, maker, price, items, note=""):
    out = head(id, maker, "other", None, price, True, note)
    out += ["boxes = ["]
    for number, (ref, length) in enumerate(items, 1):
        di = [sundry_di(code, number)]
        BOXES[ref] = di
        size = f", length_mm = {length}" if length else ""
        out.append(f'  {{ ref = "{ref}", di = ["{di[0]}"]{size} }},')
    write(f"{id}.toml", out + ["]"])


def write(name, lines):
    (ROOT / name).write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


DES = "drug-eluting stent"


def catalogues():
    full = [2.25, 2.50, 2.75, 3.00, 3.50, 4.00, 4.50, 5.00]
    stent("tarn", "1001", "TN", "Lowfell", DES, "cobalt-chromium", 80, full,
          lambda mm: [n for n in (8, 12, 15, 18, 23, 28, 33, 38, 48)
                      if not (n == 48 and (mm < 2.5 or mm > 4.0)) and not (n > 33 and mm > 4.0)],
          nominal=11, rated=18, chart=lambda mm: TARN_275 if mm == 2.75 else like_tarn(mm),
          groups=[(2.75, 3.50), (3.50, 4.50), (5.00, 5.75)], crossing=1.00, price=900,
          note="Limits by pattern: 2.25 to 2.75, 3.00 to 3.50, 4.00 to 5.00.")
    stent("scree", "1002", "SC", "Harrowmoor", DES, "platinum-chromium", 74,
          [2.25, 2.50, 2.75, 3.00, 3.25, 3.50, 3.75, 4.00],
          lambda mm: [n for n in (8, 12, 16, 20, 24, 28, 32, 38, 44) if not (n == 44 and mm < 2.5)],
          nominal=11, rated=16, chart=lambda mm: curve(mm, 11, 16, 7, 1, 1.1, 0.9),
          groups=[(2.75, 3.50), (3.25, 4.25), (4.00, 5.50)], crossing=1.02, price=980,
          note="Every 0.25 step. Limits by pattern: to 2.75, to 3.25, to 4.00.")
    stent("holm", "1003", "HM", "Eastwater", DES, "cobalt-chromium", 65, [2.50, 3.00, 3.50, 4.00],
          lambda mm: (9, 14, 19, 24, 29, 34, 39),
          nominal=9, rated=16, chart=lambda mm: curve(mm, 9, 16, 7, 1, 1.0, 0.8),
          groups=[(2.50, 3.25), (3.50, 4.40), (4.00, 5.25)], crossing=0.98, price=760,
          second=((3.00, 19), (3.00, 24)),
          note="Steps of 0.5 only. Two boxes carry a second identifier since the maker's plant moved.")
    stent("wold", "1004", "WD", "Brackenside", DES, "stainless steel", 60,
          [2.00, 2.25, 2.50, 2.75, 3.00, 3.50, 4.00], lambda mm: (8, 13, 18, 23, 28, 33, 38),
          nominal=10, rated=16, chart=lambda mm: curve(mm, 10, 16, 8, 2, 1.0, 0.9),
          groups=[(2.75, 3.40), (3.50, 4.30), (4.00, 5.00)], crossing=0.99, price=640, verified=False,
          note="Nobody has checked this file against the boxes yet.")
    stent("mere", "1005", "MR", "Lowfell", DES, "cobalt-chromium", 88, [2.50, 2.75, 3.00, 3.50, 4.00],
          lambda mm: (10, 15, 20, 25, 30, 35),
          nominal=10, rated=16, chart=lambda mm: curve(mm, 10, 16, 8, 2, 1.2, 1.0),
          groups=[(2.75, 3.25), (3.50, 4.25), (4.00, 5.00)], crossing=1.06, price=590,
          no_chart=(3.00, 3.50), no_limit=(2.50, 3.50),
          note="The maker prints no chart for 3.00 and 3.50 and no limit for 2.50 and 3.50.")
    stent("carr", "1006", "CR", "Harrowmoor", "bare-metal stent", "cobalt-chromium", 91,
          [2.75, 3.00, 3.50, 4.00, 4.50], lambda mm: (9, 12, 15, 18, 24, 30),
          nominal=9, rated=16, chart=lambda mm: curve(mm, 9, 16, 7, 1, 1.1, 0.9),
          groups=[(2.75, 3.50), (3.50, 4.50), (4.50, 5.50)], crossing=1.05, price=240)
    stent("spinney", "1007", "SP", "Eastwater", "bioresorbable scaffold", "poly-lactide", 150,
          [2.50, 3.00, 3.50], lambda mm: (12, 18, 23, 28),
          nominal=7, rated=16, chart=lambda mm: curve(mm, 7, 16, 5, 1, 1.2, 0.9),
          groups=[(2.50, 3.00), (3.00, 3.50), (3.50, 4.00)], crossing=1.32, price=1150, guide=0.067)
    stent("levee", "1008", "LV", "Stonegill", "covered stent", "cobalt-chromium with polyurethane", 90,
          [2.50, 3.00, 3.50, 4.00], lambda mm: (15, 20, 26),
          nominal=8, rated=14, chart=lambda mm: curve(mm, 8, 14, 6, 1, 1.2, 1.0),
          groups=[(3.00, 3.50), (4.00, 4.65)], crossing=1.20, price=1900, guide=0.056)
    stent("levee-large", "1009", "LL", "Stonegill", "covered stent", "cobalt-chromium with polyurethane", 100,
          [4.50, 5.00], lambda mm: (15, 20, 26),
          nominal=8, rated=14, chart=lambda mm: curve(mm, 8, 14, 6, 1, 1.2, 1.0),
          groups=[(5.00, 5.75)], crossing=1.60, price=2100, guide=0.075,
          note="Takes a 7 Fr guide: the bore of most 6 Fr guides is too small.")

    balloon("cairn", "1101", "CN", "Stonegill", "non-compliant balloon",
            [2.00, 2.25, 2.50, 2.75, 3.00, 3.25, 3.50, 3.75, 4.00, 4.50, 5.00],
            lambda mm: (6, 8, 12, 15, 20),
            nominal=12, rated=20, chart=lambda mm: curve(mm, 12, 20, 8, 2, 0.6, 0.45), crossing=0.72, price=110,
            material="nylon, two layers")
    balloon("tor", "1102", "TR", "Brackenside", "non-compliant balloon",
            [2.00, 2.50, 3.00, 3.50, 4.00], lambda mm: (10, 15, 20),
            nominal=14, rated=22, chart=lambda mm: curve(mm, 14, 22, 10, 2, 0.45, 0.35), crossing=0.78, price=125)
    balloon("brae", "1103", "BR", "Lowfell", "semi-compliant balloon",
            [1.25, 1.50, 2.00, 2.50, 3.00, 3.50], lambda mm: (8, 12, 15, 20) if mm > 1.5 else (8, 12, 15),
            nominal=8, rated=14, chart=lambda mm: curve(mm, 8, 14, 6, 1, 1.6, 1.4), crossing=0.58, price=85)

    other("rill", "1201", "Harrowmoor", 60, [("RL-180", 1800), ("RL-180X", 1800), ("RL-300", 3000)],
          "A coronary wire, 0.014 in: soft, extra support, exchange length.")
    other("ginnel", "1202", "Eastwater", 310, [("GN-6", 1500), ("GN-7", 1500)], "A guide extension, 6 and 7 Fr.")
    other("eddy", "1203", "Stonegill", 420, [("ED-2", 20), ("ED-3", 40), ("ED-4", 60)],
          "Bail-out: a set of detachable coils, 2, 3 and 4 mm.")
    other("sluice", "1204", "Brackenside", 95, [("SL-8", None)],
          "Bail-out: a large-bore drainage set, 8 Fr.")

    write("guides.toml", [
        "# The guide catheters of the demo room. Bores: 5 Fr J Invasive Cardiol 2003; 6 Fr recintervcardiol.org;",
        "# 7 and 8 Fr from memory (0.078 to 0.081 and 0.088 to 0.091 in). A bore is not fixed by its French.",
        "schema = 1", "",
        *[line for fr, bore in ((5, 0.058), (6, 0.071), (7, 0.081), (8, 0.090))
          for line in ("[[guide]]", f"fr = {fr}", f"inner_in = {bore:.3f}", "")]][:-1])


# What the room has on purpose: (REF, use-by, count, owner, serial).
CHOSEN = [
    ("TN30028", "2026-12-19", 1, "own", ""), ("TN30028", "2028-03-31", 1, "own", ""),
    ("TN35028", "2027-09-30", 1, "own", ""),                      # the last piece of its size
    ("TN30038", "2026-10-31", 1, "own", ""), ("TN30038", "2027-08-31", 1, "consigned", ""),
    ("TN27528", "2026-10-15", 2, "own", ""),                      # only expired ones
    ("TN45015", "2027-02-28", 1, "borrowed from Northgate room", ""),
    ("SC32524", "2026-12-04", 1, "consigned", ""),
    ("HM30019", "2027-11-30", 2, "own", ""), ("HM30019*", "2028-05-31", 1, "own", ""),
    ("LV30020", "2026-10-22", 1, "own", "LV0007731"),             # the covered 3.00 is expired
    ("LV25015", "2027-06-30", 1, "own", "LV0008120"), ("LV35020", "2027-04-30", 1, "own", "LV0008344"),
    ("LV40020", "2026-12-28", 1, "own", "LV0007990"), ("LV40026", "2028-01-31", 1, "consigned", "LV0009002"),
    ("LL45020", "2027-07-31", 1, "own", "LL0001207"), ("LL50020", "2027-10-31", 1, "borrowed from Northgate room", "LL0001398"),
    ("ED-2", "2028-06-30", 2, "own", ""), ("ED-3", "2027-12-31", 1, "own", ""), ("ED-4", "2026-10-30", 1, "own", ""),
    ("SL-8", "2027-05-31", 1, "own", ""),
    ("RL-180", "2028-08-31", 12, "own", ""), ("RL-180X", "2028-04-30", 6, "own", ""), ("RL-300", "2027-03-31", 2, "own", ""),
    ("GN-6", "2027-09-30", 3, "own", ""), ("GN-7", "2026-12-15", 1, "own", ""),
]
# Left empty on purpose: gaps.
GAPS = ("TN500", "TN450", "TN27528", "TN25048", "SC40044", "HM25039", "WD200")
# How many of a hundred boxes of a product are on the shelf.
KEPT = {"TN": 88, "SC": 66, "HM": 85, "WD": 45, "MR": 50, "CR": 35, "SP": 50, "CN": 86, "TR": 60, "BR": 75}


def place(letters, mm):
    cupboard, shelves = {"TN": (1, "ABCD"), "SC": (2, "ABCD"), "HM": (2, "EF"), "WD": (3, "AB"), "MR": (3, "CD"),
                         "CR": (3, "E"), "SP": (3, "F"), "CN": (4, "ABC"), "TR": (4, "D"), "BR": (4, "EF"),
                         "LV": (5, "A"), "LL": (5, "A"), "ED": (5, "B"), "SL": (5, "B"), "RL": (6, "A"),
                         "GN": (6, "B")}[letters]
    step = min(int(max(mm - 2.0, 0) / 2.01 * len(shelves)), len(shelves) - 1)
    return f"cupboard {cupboard}, shelf {shelves[step]}"


def row(ref, use_by, count, owner, serial):
    second = ref.endswith("*")
    ref = ref.rstrip("*")
    letters = ref[:2]
    mm = int(ref[2:5]) / 100 if ref[2:5].isdigit() and len(ref) == 7 else 0
    # No digit 1: a lot that holds 10, 11, 17 or 21 can't be read for certain from a scanner without separators.
    lot = f"{letters}{die('lot', ref, use_by) % 90000 + 10000}".replace("1", "6")
    return (BOXES[ref][1 if second else 0], lot, serial, use_by, place(letters, mm), count, owner)


def month_end(day):
    after = (day.replace(day=28) + datetime.timedelta(days=4)).replace(day=1)
    return after - datetime.timedelta(days=1)


def stock():
    rows = [row(*chosen) for chosen in CHOSEN]
    chosen = {ref.rstrip("*") for ref, *_ in CHOSEN}
    for ref in BOXES:
        if ref in chosen or ref.startswith(GAPS) or ref[:2] not in KEPT or die("kept", ref) % 100 >= KEPT[ref[:2]]:
            continue
        for lot in range(2 if die("lots", ref) % 5 == 0 else 1):
            throw = die("days", ref, lot) % 100
            if throw < 4:
                use_by = "2026-10-31"
            elif throw < 9:
                use_by = f"2026-12-{die('soon', ref, lot) % 30 + 1:02d}"
            else:
                days = 60 + die("late", ref, lot) % 700
                use_by = month_end(TODAY + datetime.timedelta(days=days)).isoformat()
            count = 1 + (die("count", ref, lot) % 3 == 0)
            owner = "consigned" if die("owner", ref, lot) % 9 == 0 else "own"
            rows.append(row(ref, use_by, count, owner, ""))
    rows.sort(key=lambda r: (r[4], r[0], r[3]))
    lines = ["di,lot,serial,use_by,shelf,count,owner"]
    lines += [f'{di},{lot},{serial},{use_by},"{shelf}",{count},{owner}'
              for di, lot, serial, use_by, shelf, count, owner in rows]
    write("room/stock.csv", lines)
    return len(rows), sum(r[5] for r in rows)


if __name__ == "__main__":
    catalogues()
    assert BOXES["TN27508"] == ["09521001275088"] and BOXES["TN27528"] == ["09521001275286"]
    print(len(BOXES), "boxes; rows and pieces of stock:", *stock())
