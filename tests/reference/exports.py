#!/usr/bin/env python3
"""Reads a room's journal with sqlite3 alone, adds every case up anew, and holds everything that leaves the program against
that: the record as JSON, CSV, Markdown and FHIR, the totals, the trace of every lot, serial number and identifier.

Run: python3 tests/reference/exports.py BOXCALL ROOM     (the room is only read)
"""
import base64, csv, datetime, html, io, json, os, re, sqlite3, subprocess, sys
from collections import Counter, defaultdict

boxcall, room = sys.argv[1:3]
DECIMAL_COMMA = {**os.environ, "LANG": "de_DE.UTF-8", "LC_ALL": "de_DE.UTF-8"}
time = datetime.datetime.fromisoformat


def run(*words, status=(0,)):
    done = subprocess.run([boxcall, "--room", room, *words], capture_output=True, text=True, env=DECIMAL_COMMA)
    assert done.returncode in status, f"{words}: {done.returncode} {done.stderr}"
    return done.stdout


class Box:
    def __init__(self, number):
        self.number, self.label, self.state, self.call, self.opened_at = number, {}, None, None, None
        self.fate, self.lesions, self.inflations, self.seq = None, [], [], 0

    def at(self, lesion):
        if lesion is not None and lesion not in self.lesions:
            self.lesions.append(lesion)


def add_up(entries):
    """The boxes of a case, and the sign-off that stands: what is struck out never happened."""
    struck = set()
    for entry in entries:
        target = entry["fact"].get("entry") if entry["fact"]["what"] == "struck-out" else None
        if target and not any(e["seq"] == target and e["fact"]["what"] in ("struck-out", "case-begun") for e in entries):
            struck.add(target)
    standing = [e for e in entries if e["seq"] not in struck]
    boxes, calls, loose, signed, named = {}, {}, [], None, []
    for entry in standing:
        fact, what = entry["fact"], entry["fact"]["what"]
        if what == "called":
            calls.setdefault(fact["call"], fact)
            named.append(fact.get("lesion"))
        if what == "lesion-measured":
            named.append(fact["lesion"])
        if what == "signed-off":
            signed = entry
        if what not in ("box-at-hand", "box-opened", "box-put-back"):
            continue
        box = boxes.setdefault(fact["item"], Box(fact["item"]))
        if box.state == "opened":
            loose.append(entry)
            continue
        box.state, box.seq = {"box-at-hand": "at hand", "box-opened": "opened", "box-put-back": "put back"}[what], entry["seq"]
        box.label, box.call = fact["label"] or box.label, fact.get("call") or box.call
        if what == "box-opened":
            box.opened_at = time(entry["at"]) - datetime.timedelta(minutes=fact.get("minutes_ago") or 0)
            box.at(fact.get("lesion"))
    for entry in standing:
        fact, what = entry["fact"], entry["fact"]["what"]
        box = boxes.get(fact.get("item"))
        if box is None or box.state != "opened":
            continue
        if what == "inflated":
            box.inflations.append(fact)
        if what in ("inflated", "used-again", "fate-given"):
            box.at(fact.get("lesion"))
        if what == "fate-given":
            box.fate = fact
        elif what == "back-on-table" or what in ("inflated", "used-again") and box.fate and box.fate["fate"] == "opened-not-used":
            box.fate = None
    named = {lesion for lesion in named if lesion}
    for box in boxes.values():
        if box.state == "opened":
            if not box.lesions and box.call in calls:
                box.at(calls[box.call].get("lesion"))
            if box.fate and box.fate["fate"] == "implanted" and box.fate.get("lesion") is None and not box.lesions and len(named) == 1:
                box.at(*named)
    return boxes, signed, loose, struck


def told(fate):
    words = {"implanted": "implanted", "used": "used", "lost-in-patient": "lost in the patient", "not-found": "not found"}
    why = {"dropped-or-unsterile": "dropped or unsterile", "wrong-size": "wrong size", "would-not-cross": "would not cross", "damaged": "damaged", "not-needed": "not needed"}
    return words.get(fate["fate"]) or f"opened, not used: {why[fate['why']]}"


def same(what, one, other):
    assert one == other, f"{what}: {one!r} in the export, {other!r} in the journal"


def near(one, other):
    assert (one is None) == (other is None) and (one is None or abs(one - other) < 1e-9), f"{one} for {other}"


def totals_of(boxes):
    count = Counter("unsettled" if box.fate is None else box.fate["fate"] for box in boxes if box.state == "opened")
    return {"opened": sum(count.values()), "implanted": count["implanted"], "used": count["used"], "not_used": count["opened-not-used"],
            "lost": count["lost-in-patient"], "not_found": count["not-found"], "unsettled": count["unsettled"]}


def check_json(record, boxes, signed):
    same("boxes", [one["box"] for one in record["boxes"]], list(boxes))
    for one in record["boxes"]:
        box = boxes[one["box"]]
        same("label", one["label"], box.label)
        same("state", one["state"], box.state)
        same("opened_at", one["opened_at"] and time(one["opened_at"]), box.opened_at)
        same("offset", one["opened_at"] and time(one["opened_at"]).utcoffset(), box.opened_at and box.opened_at.utcoffset())
        same("fate", one["fate"] and one["fate"]["fate"], box.fate and box.fate["fate"])
        same("lesions", one["lesions"], box.lesions)
        same("inflations", [(i["at_atm"], i.get("lesion")) for i in one["inflations"]], [(i["at_atm"], i.get("lesion")) for i in box.inflations])
    own, said = totals_of(boxes.values()), record["totals"]
    same("totals", {**{key: said[key] for key in own if key != "not_used"}, "not_used": sum(said["opened_not_used"].values())}, own)
    wasted = [box.label.get("price") for box in boxes.values() if box.fate and box.fate["fate"] == "opened-not-used"]
    near(record["opened_not_used"]["cost"], sum(price for price in wasted if price is not None))
    same("unpriced", record["opened_not_used"]["unpriced"], wasted.count(None))
    same("signed", record["signed"] and record["signed"]["at"], signed and signed["at"])
    same("refill", sum(row["count"] for row in record["refill"]), own["opened"])


def check_csv(text, boxes, begun):
    plain = lambda cell: cell[1:] if cell.startswith("'") else cell
    rows = list(csv.DictReader(io.StringIO(text), strict=True))
    same("rows", [int(row["box"]) for row in rows], list(boxes))
    for row in rows:
        box, label = boxes[int(row["box"])], boxes[int(row["box"])].label
        for column, key in (("di", "di"), ("lot", "lot"), ("serial", "serial"), ("use_by", "use_by"), ("made", "made"), ("udi_system", "system"), ("maker", "maker"), ("ref", "reference"), ("kind", "kind")):
            same(column, plain(row[column]), label.get(key, ""))
        if label.get("printed"):
            same("udi_printed", plain(row["udi_printed"]), label["printed"])
        same("state", row["state"], box.state)
        same("fate", row["fate"], told(box.fate) if box.fate else "not settled" if box.state == "opened" else "")
        same("lesions", [int(one) for one in plain(row["lesions"]).split(", ") if one], box.lesions)
        same("inflations", [float(one) for one in plain(row["inflations_atm"]).split()], [i["at_atm"] for i in box.inflations])
        near(float(row["diameter_mm"]) if row["diameter_mm"] else None, label.get("diameter"))
        near(float(row["length_mm"]) if row["length_mm"] else None, label.get("length"))
        near(float(row["price"]) if row["price"] else None, label.get("price"))
        zone = datetime.timezone(datetime.timedelta(minutes=int(row["utc_offset_min"])))
        same("offset", zone.utcoffset(None), begun.utcoffset())
        same("opened_at", row["opened_at"], box.opened_at.astimezone(zone).strftime("%Y-%m-%d %H:%M:%S") if box.opened_at else "")
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in row.values()), "a formula (OWASP)"


def cells(line):
    """Cells of a table's row, escapes taken off as CommonMark does."""
    # An entity that was not escaped is worked out first, as a renderer would.
    entities = lambda text: re.sub(r"(?<!\\)&#?\w+;", lambda found: html.unescape(found[0]), text)
    return [re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", entities(part.strip())) for part in re.split(r"(?<!\\)\|", line.strip())[1:-1]]


def check_markdown(page, code, boxes, signed, begun, after, back):
    assert page.startswith(f"# Case {code}\n")
    same("begun, with its offset", re.search(r"^Begun (.*?)\. ", page, re.M)[1], begun.strftime("%Y-%m-%d %H:%M ") + begun.isoformat()[-6:])
    table = [cells(line) for line in page.splitlines() if line.startswith("| ")]
    opened = {box.number: box for box in boxes.values() if box.state == "opened"}
    rows = [dict(zip(table[0], row)) for row in table[2:]]
    same("rows", sorted(int(row["box"]) for row in rows), sorted(opened))
    if back:
        same("order", [int(row["box"]) for row in rows], sorted(opened, key=lambda number: opened[number].seq))
    for row in rows:
        box = opened[int(row["box"])]
        label = box.label
        same("lot", row["lot"], label.get("lot") or ("" if label.get("serial") else "not read"))
        same("serial", row["serial"], label.get("serial", ""))
        past = label.get("use_by") and label["use_by"] < box.opened_at.date().isoformat()
        same("use by", row["use by"], label["use_by"] + (" EXPIRED" if past else "") if label.get("use_by") else "not read")
        same("REF", row["REF"], label.get("reference", ""))
        same("fate", re.sub(r", lesion \d+$", "", row["fate"]), told(box.fate) if box.fate else "NOT SETTLED")
        same("inflations", row["inflations"].count(" atm"), len(box.inflations))
        shown = re.fullmatch(r"(?:(\d{4}-\d\d-\d\d) )?(\d\d:\d\d)(?: ([+-]\d\d:\d\d))?", row["opened"])
        same("opened", time(f"{shown[1] or begun.date()}T{shown[2]}:00{shown[3] or begun.isoformat()[-6:]}"), box.opened_at.replace(second=0, microsecond=0))
        assert f"- box {box.number}: " in page.split("## Identifiers")[1].split("##")[0]
    own = totals_of(boxes.values())
    if opened:
        line = re.search(r"Opened (\d+) = implanted (\d+) \+ used (\d+) \+ opened, not used (\d+) \+ lost in the patient (\d+) \+ not found (\d+) \+ not settled (\d+)", page)
        same("totals", [int(one) for one in line.groups()], list(own.values()))
    same("put back", page.split("## Put back unopened")[-1].split("\n## ")[0].count("- box ") if "## Put back" in page else 0,
         sum(box.state == "put back" for box in boxes.values()))
    same("after the signature", page.split("## Written after the signature")[1].split("---")[0].count("\n- ") if "## Written after" in page else 0, after)
    assert ("clock was set back" in page) == back, "a clock that was set back is told"


def check_fhir(text, code, boxes, signed, begun):
    bundle = json.loads(text)
    by_kind = defaultdict(dict)
    for entry in bundle["entry"]:
        by_kind[entry["resource"]["resourceType"]][entry["fullUrl"]] = entry["resource"]
    opened = {box.number: box for box in boxes.values() if box.state == "opened"}
    numbers = {url: int(one["identifier"][0]["value"].split("/")[1]) for url, one in by_kind["Device"].items()}
    same("devices", sorted(numbers.values()), sorted(opened))
    (procedure,) = by_kind["Procedure"].values()
    period = procedure["performedPeriod"]
    # R4, datatypes, Period, invariant per-1.
    assert "end" not in period or time(period["start"]) <= time(period["end"]), "per-1"
    same("start", time(period["start"]), begun)
    focal = {numbers[one["manipulated"]["reference"]]: one["action"]["coding"][0]["code"] for one in procedure.get("focalDevice", [])}
    used = [numbers[one["reference"]] for one in procedure.get("usedReference", [])]
    supplied = [numbers[one["suppliedItem"]["itemReference"]["reference"]] for one in by_kind["SupplyDelivery"].values()]
    by_fate = lambda *fates: sorted(n for n, box in opened.items() if (box.fate or {}).get("fate") in fates)
    same("implanted", sorted(n for n, action in focal.items() if action == "implanted"), by_fate("implanted"))
    same("lost", sorted(n for n, action in focal.items() if action == "manipulated"), by_fate("lost-in-patient"))
    same("used", sorted(used), by_fate("used"))
    same("supplied", sorted(supplied), by_fate("opened-not-used", "not-found", None))
    same("status", procedure["status"], "completed" if signed else "in-progress")
    for url, one in by_kind["Device"].items():
        label = opened[numbers[url]].label
        for field, key in (("manufacturer", "maker"), ("lotNumber", "lot"), ("serialNumber", "serial"), ("expirationDate", "use_by"), ("manufactureDate", "made"), ("modelNumber", "reference")):
            same(field, one.get(field), label.get(key))
        same("type", one.get("type", {}).get("text"), label.get("kind"))
        carriers = one.get("udiCarrier", [])
        same("carriers", len(carriers), int("di" in label))
        for carrier in carriers:
            issuer = {"gs1": "gs1-di", "gs1-digital-link": "gs1-di", "hibc": "hibcc-dI", "isbt128": "iccbba-other-di"}[label["system"]]
            same("issuer", carrier["issuer"], "http://hl7.org/fhir/NamingSystem/" + issuer)
            same("di", carrier["deviceIdentifier"], label["di"])
            same("AIDC", base64.b64decode(carrier["carrierAIDC"]).hex(), label["raw"]["hex"])
            if label.get("printed"):
                same("HRF", carrier["carrierHRF"], label["printed"])
            same("entry", carrier["entryType"], "barcode" if label["raw"]["arrival"] == "scanned" else "manual")
        values = {p["type"]["text"]: p["valueQuantity"][0] for p in one.get("property", [])}
        near(values.get("nominal diameter", {}).get("value"), label.get("diameter"))
        near(values.get("length", {}).get("value"), label.get("length"))
        assert all(value["code"] == "mm" for value in values.values())


# What is written at each run alone.
def steady(text):
    return re.sub(r'("timestamp": |"written": |^Written ).*', "", text, flags=re.M)


file = sqlite3.connect(f"file:{room}/journal.db?mode=ro", uri=True)
by_case, strikes = defaultdict(list), []
for code, body in file.execute("SELECT case_code, body FROM journal ORDER BY seq"):
    (by_case[code] if code else strikes).append(json.loads(body))
currency = json.loads(run("case", "show", "--json"))["currency"]
every, wasted, sizes = [], defaultdict(list), Counter()
for code, own in by_case.items():
    entries = sorted(own + [e for e in strikes if e["fact"]["what"] == "struck-out"], key=lambda e: e["seq"])
    boxes, signed, loose, struck = add_up(entries)
    begun = time(next(e["at"] for e in own if e["fact"]["what"] not in ("clock-went-back", "held-back")))
    after = sum(signed is not None and e["seq"] > signed["seq"] and e["fact"]["what"] not in ("clock-went-back", "held-back") for e in own)
    back = any(e["fact"]["what"] == "clock-went-back" for e in own)
    texts = {form: run("case", "export", code, "--format", form) for form in ("json", "csv", "markdown", "fhir")}
    for form, text in texts.items():
        same(f"{form} of {code}, twice", steady(run("case", "export", code, "--format", form)), steady(text))
    check_json(json.loads(texts["json"]), boxes, signed)
    check_csv(texts["csv"], boxes, begun)
    check_markdown(texts["markdown"], code, boxes, signed, begun, after, back)
    check_fhir(texts["fhir"], code, boxes, signed, begun)
    for box in boxes.values():
        every.append((code, box.number, box.label, box.state, box.fate, None))
        if box.state == "opened":
            label = box.label
            sizes[label.get("product"), label.get("name") or label.get("product") or "not known", label.get("diameter"), label.get("length")] += 1
        if box.fate and box.fate["fate"] == "opened-not-used":
            wasted[box.fate["why"]].append(box.label.get("price"))
    for entry in own:
        if entry["fact"]["what"] == "box-opened" and (entry["seq"] in struck or entry in loose):
            every.append((code, entry["fact"]["item"], entry["fact"]["label"], "opened", None, entry["seq"] in struck))
    print(f"case {code}: {len(boxes)} boxes are told alike by all forms")

# Over all cases.
totals = json.loads(run("case", "totals", "--json"))
same("cases", totals["cases"], len(by_case))
same("sizes", Counter({(s["product"], s["name"], s["diameter_mm"], s["length_mm"]): s["opened"] for s in totals["sizes"]}), sizes)
rows = list(csv.DictReader(io.StringIO(run("case", "totals", "--format", "csv"))))
same("sizes in the table", sum(int(row["count"]) for row in rows if row["part"] == "opened"), sum(sizes.values()))
for one in totals["waste"]:
    prices = wasted[one["why"]]
    same(one["why"], (one["count"], one["unpriced"]), (len(prices), prices.count(None)))
    near(one["cost"], sum(price for price in prices if price is not None))
    row = next(row for row in rows if row["part"] == "opened and not used" and row["what"] == told({"fate": "opened-not-used", "why": one["why"]}).split(": ")[1])
    same("the table", (int(row["count"]), int(row["unpriced"]), row["currency"]), (one["count"], one["unpriced"], currency))
    near(float(row["cost"]), one["cost"])
same("reasons", {one["why"] for one in totals["waste"]}, set(wasted))

# Every lot, serial number and identifier that came into a case, and each box that has it.
alike = lambda text: text.strip().lower()
asked = 0
for key, option in (("lot", "--lot"), ("serial", "--serial"), ("di", "--di")):
    for value in {alike(label[key]) for _, _, label, *_ in every if label.get(key)}:
        wanted = sorted((code, number, state.replace(" ", "-"), (fate or {}).get("fate"), bool(gone)) for code, number, label, state, fate, gone in every
                        if label.get(key) and (alike(label[key]) == value if key != "di" else alike(label[key])[1:13] == value[1:13] and len(label[key]) == len(value)))
        # A value may begin with a hyphen.
        found = json.loads(run("trace", f"{option}={value.upper()}", "--json"))
        has = lambda box: box[key] and (alike(box[key]) == value if key != "di" else alike(box[key])[1:13] == value[1:13] and len(box[key]) == len(value))
        same(f"trace {option} {value}", sorted((b["case"], b["box"], b["state"], b["fate"], b["struck_out"] is not None) for b in found["boxes"] if has(b)), wanted)
        # What else may be meant says why, and stays out of the list of those that are.
        unsure = [b for b in found["boxes"] if not has(b) or b["struck_out"] is not None]
        assert all(b["doubt"] and b not in found["had"] for b in unsure), f"trace {option} {value}: sure of {unsure!r}"
        assert not any(b["doubt"] for b in found["had"]), f"trace {option} {value}: unsure of what had it"
        asked += 1
print(f"totals of {len(by_case)} cases and {asked} traces are what the journal says")
