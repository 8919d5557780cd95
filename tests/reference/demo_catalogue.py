#!/usr/bin/env python3
"""Writes the demo catalogues (catalogues/*.toml) and the demo room (catalogues/room/stock.csv).

Run it from the top of the project: python3 tests/reference/demo_catalogue.py
Everything is invented; the same input gives the same bytes. Python's standard library only.

No figure is copied from a device: what a family is for (its kind, smallest and largest diameter, how many lengths)
is chosen here, every other figure is drawn. `die` hashes SEED with some words, so that a draw depends on nothing else.

Lengths     a start, then uneven steps: both drawn from the numbers that the kind has in LENGTHS. A third equal step
            in a row is drawn again.
Diameters   the trade's steps: 0.25 mm up to a drawn diameter, 0.5 mm beyond it. Two families have one step only.
Limits      the diameters of a stent fall into two or three patterns, cut at drawn places; a pattern's limit is its
            largest diameter times a drawn factor of 1.16 to 1.31, rounded up to 0.05 mm, and never below what the
            balloon reaches at rated burst.
Pressures   nominal by kind; rated burst a drawn number of atmospheres above it.
Charts      percent of growth per atmosphere drawn below and above nominal, by kind; the first row lies 2 to 4 atm
            below nominal; one row an atmosphere, or one in two (always, where the balloon hardly grows).
Struts      by kind, in whole micrometres.
Profiles    the smallest diameter's by kind, then a drawn step a diameter.
Guides      the bore passes the largest profile with a drawn gap of 0.20 to 0.34 mm, rounded up to 0.001 in.
Shafts      139 to 149 cm.

Fell alone is written down, as the family on which examples and tests rest: its lengths, its 2.75 chart (the other
diameters have it in proportion), its pressures, strut, profiles and the limit of its smallest pattern.

GTINs: prefix 952 (reserved by GS1 for examples), four digits of the product, three of the diameter in
hundredths of a millimetre, two of the length, one check digit (mod 10, GS1 General Specifications 7.9).
"""

import datetime
import hashlib
import math
import pathlib

ROOT = pathlib.Path(__file__).resolve().parents[2] / "catalogues"
TODAY = datetime.date(2026, 11, 25)
# One of the first few thousand for which no two families share three lengths in a row, each kind of guide is needed by
# something (5, 6 and 7 Fr), and Fell and Skerry share 29 mm, so that a size can be had of two products.
SEED = "invented 2918"


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
    return int.from_bytes(hashlib.sha256("/".join(map(str, (SEED, *words))).encode()).digest()[:6], "big")


def drawn(options, *words):
    options = list(options)
    return options[die(*words) % len(options)]


def num(x):
    return f"{x:.2f}"


# By kind: where the lengths start, and their steps (mm).
LENGTHS = {
    "drug-eluting stent": (range(6, 12), (4, 5, 6)),
    "bare-metal stent": (range(7, 12), (4, 5, 7)),
    "bioresorbable scaffold": (range(11, 15), (5, 6, 7)),
    "covered stent": (range(12, 17), (5, 6, 7)),
    "non-compliant balloon": (range(5, 10), (3, 4, 5)),
    "semi-compliant balloon": (range(6, 10), (3, 4, 5)),
}
# By kind: micrometres of strut, smallest profile in hundredths of a millimetre.
STRUTS = {
    "drug-eluting stent": range(58, 98),
    "bare-metal stent": range(76, 112),
    "bioresorbable scaffold": range(118, 168),
    "covered stent": range(94, 136),
}
PROFILES = {
    "hedgerow": range(160, 170),  # the demo needs a covered stent that passes no 6 Fr guide
    "drug-eluting stent": range(94, 108),
    "bare-metal stent": range(98, 110),
    "bioresorbable scaffold": range(126, 138),
    "covered stent": range(112, 124),
    "non-compliant balloon": range(68, 82),
    "semi-compliant balloon": range(56, 66),
}
# By kind: nominal pressure (atm), and by how much rated burst exceeds it.
PRESSURES = {
    "stent": (range(8, 14), range(5, 10)),
    "non-compliant balloon": (range(11, 16), range(6, 10)),
    "semi-compliant balloon": (range(6, 10), range(5, 8)),
}
# By kind: percent of growth per atmosphere, in tenths, above nominal; below it is one to three tenths more.
GROWTH = {
    "drug-eluting stent": range(8, 13),
    "bare-metal stent": range(8, 13),
    "bioresorbable scaffold": range(8, 12),
    "covered stent": range(9, 13),
    "non-compliant balloon": range(5, 8),
    "semi-compliant balloon": range(13, 17),
}


def some_lengths(id, kind, count):
    starts, steps = LENGTHS[kind]
    lengths, made = [drawn(starts, id, "start")], []
    while len(lengths) < count:
        number = 0
        while True:
            step = drawn(steps, id, "step", len(lengths), number)
            if made[-2:] != [step, step]:
                break
            number += 1
        made.append(step)
        lengths.append(lengths[-1] + step)
    return lengths


def some_diameters(id, first, last, fine_to=None):
    """From `first` to `last`, in steps of 0.25 up to `fine_to` (drawn, where it is not given), then of 0.5."""
    fine_to = drawn((first, first + 0.25, first + 0.5, last - 0.5, last), id, "fine") if fine_to is None else fine_to
    made = [first]
    while made[-1] < last:
        on_half = made[-1] % 0.5 == 0
        made.append(made[-1] + (0.5 if made[-1] >= fine_to and on_half else 0.25))
    return [mm for mm in made if mm <= last]


def some_patterns(id, mms, rated_mm, first=None):
    """(largest diameter, limit) of each pattern; `first` is the first one's where it is given."""
    count = 3 if len(mms) > 5 else 2 if len(mms) > 2 else 1
    if first:
        rest = [mm for mm in mms if mm > first[0]]
        cuts, made = [rest[drawn((1, 2), id, "cut") - 1], rest[-1]], [first]
    else:
        each = len(mms) / count
        cuts = [mms[min(max(round(each * n) - drawn((0, 1), id, "cut", n), n), len(mms) - 1) - 1]
                for n in range(1, count)] + [mms[-1]]
        made = []
    for last in cuts:
        factor = 1 + drawn(range(16, 32), id, "limit", num(last)) / 100
        limit = max(last * factor, rated_mm(last))
        made.append((last, math.ceil(round(limit * 20, 6)) / 20))
    for (_, a), (_, b) in zip(made, made[1:]):
        assert b > a, (id, made)
    return made


FELL_275 = [(8, 2.62), (9, 2.66), (10, 2.71), (11, 2.75), (12, 2.78), (14, 2.84), (16, 2.90), (18, 2.95)]


def rising(rows):
    for (_, a), (_, b) in zip(rows, rows[1:]):
        assert b > a, rows
    return rows


def like_fell(mm):
    """The chart of the 2.75, in proportion."""
    return rising([(atm, mm if atm == 11 else round(d * mm / 2.75, 2)) for atm, d in FELL_275])


class Family:
    """What is drawn once for all sizes of a family."""

    def __init__(self, id, kind):
        self.id, self.kind = id, kind
        nominal, more = PRESSURES.get(kind, PRESSURES["stent"])
        self.nominal = drawn(nominal, id, "nominal")
        self.rated = self.nominal + drawn(more, id, "rated")
        self.first = self.nominal - drawn((2, 3, 4), id, "first row")
        self.step = 2 if kind == "non-compliant balloon" else drawn((1, 2), id, "rows")
        self.above = drawn(GROWTH[kind], id, "above") / 10
        self.below = self.above + drawn((1, 2, 3), id, "below") / 10
        self.profile = drawn(PROFILES.get(id, PROFILES[kind]), id, "profile") / 100
        self.wider = drawn((1, 2, 3), id, "wider") / 100
        self.shaft = drawn(range(139, 150), id, "shaft")

    def chart(self, mm):
        atms = set(range(self.first, self.rated + 1, self.step)) | {self.nominal, self.rated}
        percent = lambda atm: self.below if atm < self.nominal else self.above
        return rising([(atm, round(mm * (1 + (atm - self.nominal) * percent(atm) / 100), 2)) for atm in sorted(atms)])

    def crossing(self, place):
        return round(self.profile + self.wider * place, 2)

    def guide(self, count):
        gap = drawn(range(20, 35), self.id, "gap") / 100
        return math.ceil(round((self.crossing(count - 1) + gap) / 25.4 * 1000, 6)) / 1000


def stent(id, code, letters, maker, kind, material, mms, count, *, price, has=lambda mm, place: True, verified=True,
          note="", no_chart=(), no_limit=(), second=()):
    family = Family(id, kind)
    lengths, strut = some_lengths(id, kind, count), drawn(STRUTS[kind], id, "strut")
    chart, first = family.chart, None
    if id == "fell":
        lengths, strut, chart, first = [7, 11, 16, 20, 25, 29, 34, 39, 46], 78, like_fell, (2.75, 3.40)
        family.nominal, family.rated, family.profile, family.wider = 11, 18, 1.00, 0.02
    patterns = some_patterns(id, mms, lambda mm: chart(mm)[-1][1], first)
    told = ", ".join(f"up to {num(last)}" for last, _ in patterns)
    note = "\n".join(filter(None, [f"Limits by pattern: {told}." if len(patterns) > 1 else "", note]))
    out = head(id, maker, kind, material, price, verified, note, strut=strut, guide=family.guide(len(mms)),
               shaft=family.shaft)
    for place, mm in enumerate(mms):
        rows = chart(mm)
        out += ["", "[[diameter]]", f"mm = {num(mm)}", f"crossing_mm = {num(family.crossing(place))}"]
        if mm not in no_limit:
            # A platform's limit belongs to the pattern, not to the size.
            limit = next(limit for last, limit in patterns if mm <= last)
            assert limit >= rows[-1][1], (id, mm)
            out.append(f"expansion_limit_mm = {num(limit)}")
        out += pressures(family, None if mm in no_chart else rows)
        out += boxes(code, letters, mm, [n for at, n in enumerate(lengths) if has(mm, at)], [(d, lengths[at]) for d, at in second])
    write(f"{id}.toml", out)


def balloon(id, code, letters, maker, kind, mms, count, *, price, material=None, has=lambda mm, place: True):
    family, lengths = Family(id, kind), some_lengths(id, kind, count)
    out = head(id, maker, kind, material, price, True, "", shaft=family.shaft)
    for place, mm in enumerate(mms):
        out += ["", "[[diameter]]", f"mm = {num(mm)}", f"crossing_mm = {num(family.crossing(place))}"]
        out += pressures(family, family.chart(mm))
        out += boxes(code, letters, mm, [n for at, n in enumerate(lengths) if has(mm, at)], ())
    write(f"{id}.toml", out)


def head(id, maker, kind, material, price, verified, note, strut=None, guide=None, shaft=None):
    out = ["# Invented for the demo. Written by tests/reference/demo_catalogue.py."]
    out += [f"# {line}" for line in note.splitlines()]
    out += ["schema = 1", f'id = "{id}"', f'name = "{id.title()}"', f'maker = "{maker} (invented)"', f'kind = "{kind}"']
    out += [f'material = "{material}"'] if material else []
    out += [f"strut_um = {strut}"] if strut else []
    out += [f"shaft_cm = {shaft}", "wire_in = 0.014"] if shaft else []
    out += [f"guide_min_id_in = {guide:.3f}"] if guide else []
    out += [f"price = {price}"]
    out += [] if verified else ["verified = false"]
    return out


def pressures(family, rows):
    out = [f"nominal_atm = {family.nominal}", f"rated_burst_atm = {family.rated}"]
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
    stent("fell", "1001", "FL", "Lowfell", DES, "cobalt-chromium", some_diameters("fell", 2.25, 5.00, 3.00), 9,
          price=900, has=lambda mm, at: at < 7 if mm > 4.0 else at < 8 if mm < 2.5 else True)
    stent("skerry", "1002", "SK", "Harrowmoor", DES, "cobalt-nickel alloy", some_diameters("skerry", 2.25, 4.00, 4.00), 9,
          price=980, has=lambda mm, at: at < 8 or mm >= 2.5, note="Every 0.25 step.")
    stent("holm", "1003", "HM", "Eastwater", DES, "cobalt-chromium", some_diameters("holm", 2.50, 4.00, 2.50), 7,
          price=760, second=((3.00, 2), (3.00, 3)),
          note="Steps of 0.5 only. Two boxes carry a second identifier since the maker's plant moved.")
    stent("outcrop", "1004", "OC", "Brackenside", DES, "stainless steel", some_diameters("outcrop", 2.00, 4.00), 7,
          price=640, verified=False, note="Nobody has checked this file against the boxes yet.")
    stent("gorse", "1005", "GR", "Lowfell", DES, "cobalt-chromium", some_diameters("gorse", 2.50, 4.00), 6,
          price=590, no_chart=(3.00, 3.50), no_limit=(2.50, 3.50),
          note="The maker prints no chart for 3.00 and 3.50 and no limit for 2.50 and 3.50.")
    stent("thicket", "1006", "TH", "Harrowmoor", "bare-metal stent", "stainless steel",
          some_diameters("thicket", 2.75, 4.50), 6, price=240)
    stent("spinney", "1007", "SP", "Eastwater", "bioresorbable scaffold", "poly-lactide",
          some_diameters("spinney", 2.50, 3.50, 2.50), 4, price=1150)
    stent("oxbow", "1008", "OX", "Stonegill", "covered stent", "cobalt-nickel alloy with polyurethane",
          some_diameters("oxbow", 2.50, 4.00, 2.50), 3, price=1900)
    stent("hedgerow", "1009", "HG", "Stonegill", "covered stent", "cobalt-nickel alloy with polyurethane",
          some_diameters("hedgerow", 4.50, 5.00, 4.50), 3, price=2100,
          note="Takes a 7 Fr guide: the bore of most 6 Fr guides is too small.")

    balloon("tussock", "1101", "TK", "Stonegill", "non-compliant balloon",
            some_diameters("tussock", 2.00, 5.00, 4.00), 5, price=110, material="nylon, two layers")
    balloon("furrow", "1102", "FW", "Brackenside", "non-compliant balloon",
            some_diameters("furrow", 2.00, 4.00, 2.00), 3, price=125)
    balloon("brae", "1103", "BR", "Lowfell", "semi-compliant balloon",
            some_diameters("brae", 1.25, 3.50, 1.50), 4, price=85, has=lambda mm, at: at < 3 or mm > 1.5)

    other("footpath", "1201", "Harrowmoor", 60, [("FP-180", 1800), ("FP-180X", 1800), ("FP-300", 3000)],
          "A coronary wire, 0.014 in: soft, extra support, exchange length.")
    other("ginnel", "1202", "Eastwater", 310, [("GN-6", 1500), ("GN-7", 1500)], "A guide extension, 6 and 7 Fr.")
    other("estuary", "1203", "Stonegill", 420, [("ES-2", 20), ("ES-3", 40), ("ES-4", 60)],
          "Bail-out: a set of detachable coils, 2, 3 and 4 mm.")
    other("sandbar", "1204", "Brackenside", 95, [("SB-8", None)],
          "Bail-out: a large-bore drainage set, 8 Fr.")

    write("guides.toml", [
        "# The guide catheters of the demo room. Bores: 5 Fr @jic-2003; 6 Fr @guide-6fr; 7 and 8 Fr @guide-bores.",
        "# A bore is not fixed by its French.",
        "schema = 1", "",
        *[line for fr, bore in ((5, 0.058), (6, 0.071), (7, 0.081), (8, 0.090))
          for line in ("[[guide]]", f"fr = {fr}", f"inner_in = {bore:.3f}", "")]][:-1])


# What the room has on purpose: (REF, use-by, count, owner, serial).
CHOSEN = [
    ("FL30029", "2026-12-19", 1, "own", ""), ("FL30029", "2028-03-31", 1, "own", ""),
    ("FL35029", "2027-09-30", 1, "own", ""),                      # the last piece of its size
    ("FL30039", "2026-10-31", 1, "own", ""), ("FL30039", "2027-08-31", 1, "consigned", ""),
    ("FL27534", "2026-10-15", 2, "own", ""),                      # only expired ones
    ("FL25029", "2027-12-31", 1, "own", ""),
    ("FL45016", "2027-02-28", 1, "borrowed from Lab 3", ""),
    ("SK32529", "2026-12-04", 1, "consigned", ""), ("SK30029", "2027-10-31", 1, "own", ""),
    ("HM30019", "2027-11-30", 2, "own", ""), ("HM30019*", "2028-05-31", 1, "own", ""),
    ("OX30021", "2026-10-22", 1, "own", "OX0007731"),             # the covered 3.00 is expired
    ("OX25016", "2027-06-30", 1, "own", "OX0008120"), ("OX35021", "2027-04-30", 1, "own", "OX0008344"),
    ("OX40021", "2026-12-28", 1, "own", "OX0007990"), ("OX40027", "2028-01-31", 1, "consigned", "OX0009002"),
    ("HG45020", "2027-07-31", 1, "own", "HG0001207"), ("HG50020", "2027-10-31", 1, "borrowed from Lab 3", "HG0001398"),
    ("ES-2", "2028-06-30", 2, "own", ""), ("ES-3", "2027-12-31", 1, "own", ""), ("ES-4", "2026-10-30", 1, "own", ""),
    ("SB-8", "2027-05-31", 1, "own", ""),
    ("FP-180", "2028-08-31", 12, "own", ""), ("FP-180X", "2028-04-30", 6, "own", ""), ("FP-300", "2027-03-31", 2, "own", ""),
    ("GN-6", "2027-09-30", 3, "own", ""), ("GN-7", "2026-12-15", 1, "own", ""),
]
# Left empty on purpose: gaps.
GAPS = ("FL500", "FL450", "FL25046", "SK40047", "HM25041", "OC200")
# How many of a hundred boxes of a product are on the shelf.
KEPT = {"FL": 88, "SK": 66, "HM": 85, "OC": 45, "GR": 50, "TH": 35, "SP": 50, "TK": 86, "FW": 60, "BR": 75}


def place(letters, mm):
    cupboard, shelves = {"FL": (1, "ABCD"), "SK": (2, "ABCD"), "HM": (2, "EF"), "OC": (3, "AB"), "GR": (3, "CD"),
                         "TH": (3, "E"), "SP": (3, "F"), "TK": (4, "ABC"), "FW": (4, "D"), "BR": (4, "EF"),
                         "OX": (5, "A"), "HG": (5, "A"), "ES": (5, "B"), "SB": (5, "B"), "FP": (6, "A"),
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
    assert BOXES["FL27507"] == ["09521001275071"] and BOXES["FL27529"] == ["09521001275293"]
    print(len(BOXES), "boxes; rows and pieces of stock:", *stock())
