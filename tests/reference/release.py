"""A release of the public device database, invented, for tests/it/import.rs: real column names and dirt, no real maker.

Writes the four files and truth.tsv into release/ beside itself (or the folder named). truth.tsv says of every device
that bears a wanted code what it is and whether a careful reader could tell: `readable`, `unreadable` (then nothing may
be read of it) or `discontinued`. Shares nothing with the program. `--fat N` writes N times as many rows that nobody
wants, for the bench. Needs Python 3 only: python3 tests/reference/release.py [DIR] [--fat N]
"""
import argparse, os, random

DEVICE = """PrimaryDI|publicDeviceRecordKey|publicVersionStatus|deviceRecordStatus|publicVersionNumber|publicVersionDate|
devicePublishDate|deviceCommDistributionEndDate|deviceCommDistributionStatus|brandName|versionModelNumber|catalogNumber|
dunsNumber|companyName|deviceCount|deviceDescription|DMExempt|premarketExempt|deviceHCTP|deviceKit|
deviceCombinationProduct|singleUse|lotBatch|serialNumber|manufacturingDate|expirationDate|donationIdNumber|
labeledContainsNRL|labeledNoNRL|MRISafetyStatus|rx|otc|deviceSterile|sterilizationPriorToUse""".replace("\n", "").split("|")
SIZES = ["PrimaryDI", "sizeType", "size (unit)", "size (value)", "sizeText"]
CODES = ["PrimaryDI", "productCode", "productCodeName"]
IDS = ["PrimaryDI", "deviceId", "deviceIdType", "deviceIdIssuingAgency", "containsDINumber", "pkgQuantity",
       "pkgDiscontinueDate", "pkgStatus", "pkgType"]

MAKERS = ["Lowfell (invented)", "Highmoor (invented)", "Eastbeck Devices (invented)", "Westgarth (invented)",
          "Northdale \"Works\" (invented)", "Southmere, Ltd. (invented)"]
BRANDS = ["Tarnbeck", "Screefoot", "Cairnhead", "Woldside", "Fellgate", "Heather Moss", "Gillbank", "Thwaite", "Beckside",
          "Ghyll", "Rigg", "Hausewell", "Dubmire", "Knott", "Pikestone", "Garthend"]
DIAMETERS = [2.0, 2.25, 2.5, 2.75, 3.0, 3.25, 3.5, 3.75, 4.0, 4.5, 5.0]
LENGTHS = [7, 11, 14, 16, 19, 20, 25, 26, 29, 31, 34, 39, 46]
OTHER = ["FRN", "DQY", "KRD", "GEI", "NXX", "HQY"]


def check(body):
    total = sum(int(c) * (3 if i % 2 == 0 else 1) for i, c in enumerate(reversed(body)))
    return str((10 - total % 10) % 10)


class Release:
    def __init__(self, seed=20261125):
        self.r = random.Random(seed)
        self.n = 0
        self.device, self.sizes, self.codes, self.ids, self.truth = [], [], [], [], []

    def gtin(self, level="0"):
        self.n += 1
        body = level + "952" + f"{self.n:09d}"
        return body + check(body)

    def row(self, di, brand, version, ref, company, desc, status="In Commercial Distribution", count="1"):
        f = dict.fromkeys(DEVICE, "")
        f.update(PrimaryDI=di, publicVersionNumber="2", deviceCommDistributionStatus=status, brandName=brand,
                 versionModelNumber=version, catalogNumber=ref, companyName=company,
                 deviceCount=count, deviceDescription=desc, singleUse="true", lotBatch="true", deviceSterile="true")
        if status.startswith("Not"):
            f["deviceCommDistributionEndDate"] = "2023-06-30"
        return "|".join(f[c] for c in DEVICE)

    def size(self, di, kind, unit="", value="", text=""):
        self.sizes.append("|".join([di, kind, unit, value, text]))

    def text(self, di, words):
        self.size(di, "Device Size Text, specify", text=words)

    def id(self, di, other, kind, agency="GS1", inner="", quantity="", form=""):
        status = "In Commercial Distribution" if kind == "Package" else ""
        self.ids.append("|".join([di, other, kind, agency, inner, quantity, "", status, form]))


def fmt(d, r):
    return r.choice([f"{d:.2f}", f"{d:g}" if d != int(d) else f"{d:.1f}"])


def pair(d, l, r):
    """The size in words, in a form that leaves one meaning."""
    a = fmt(d, r)
    return r.choice([
        f"{a}mm x {l}mm", f"{l} mm (L) x {a} mm (D)", f"{a.replace('.', ',')} x {l}", f"{a} X {l} MM", f"{a} x {l}mm",
        f"{a}mm x {l}mm x 140cm", f"{a} mm by {l} mm", f"Diameter: {a} mm, Length: {l} mm", f"Ø{a} × {l} mm",
        f"{a} mm diameter x {l} mm length", f"{a} mm (D) x {l} mm (L)", f"{l} x {a} mm" if l >= 1.5 * d + 1 else f"{a} x {l}",
        f"Length {l} mm; Diameter {a} mm", f"{d / 25.4:.4f} in x {l / 25.4:.3f} in"])


def typed(x, di, d, l):
    x.size(di, "Length", "Millimeter", str(l))
    x.size(di, x.r.choice(["Outer Diameter", "Lumen/Inner Diameter"]), "Millimeter", fmt(d, x.r))


# Each gives: what is written besides the device's own row, the description's further words, and changes to the row.
def good_typed(x, di, d, l): typed(x, di, d, l); return {}
def good_text(x, di, d, l): x.text(di, pair(d, l, x.r)); return {}
def good_description(x, di, d, l): return {"more": " " + pair(d, l, x.r)}
def good_both(x, di, d, l): typed(x, di, d, l); return {"more": " " + pair(d, l, x.r)}


def good_centimetres(x, di, d, l):
    x.size(di, "Length", "Centimeter", f"{l / 10:g}")
    x.size(di, "Outer Diameter", "Millimeter", fmt(d, x.r))
    return {}


def good_inches(x, di, d, l):
    x.size(di, "Length", "Inch", f"{l / 25.4:.3f}")
    x.size(di, "Outer Diameter", "Inch", f"{d / 25.4:.4f}")
    return {}


def good_profile(x, di, d, l):
    x.size(di, "Outer Diameter", "Millimeter", x.r.choice(["1.04", "0.97", "1.13"]))
    x.size(di, "Length", "Centimeter", "142")
    x.text(di, pair(d, l, x.r))
    return {}


def good_french(x, di, d, l):
    x.size(di, "Outer Diameter", "French", x.r.choice(["2.7", "5", "6"]))
    typed(x, di, d, l)
    return {"more": " 6F compatible, 140 cm shaft, crossing profile 1.04 mm, for 0.014\" wires"}


def good_noise(x, di, d, l):
    x.size(di, "Pressure", "Atmosphere", "11")
    x.size(di, "Length", "Millimeter", str(l))
    x.size(di, "Outer Diameter", "millimeter ", fmt(d, x.r).replace(".", ",") if d != int(d) else str(int(d)))
    x.text(di, x.r.choice(["Rapid exchange", "N/A", "see carton", "working length 142 cm"]))
    return {}


def good_pipe(x, di, d, l): typed(x, di, d, l); return {"desc": f"\"Stent system | rapid exchange {pair(d, l, x.r)}\""}
def good_quotes(x, di, d, l): typed(x, di, d, l); return {"desc": "\"Stent system, rapid exchange\""}
def good_twice(x, di, d, l): typed(x, di, d, l); return {"twice": True}


def good_packages(x, di, d, l):
    typed(x, di, d, l)
    x.id(di, x.gtin("1"), "Package", inner=di, quantity="5", form="CASE")
    x.id(di, x.gtin("2"), "Package", inner=di, quantity="20", form="CARTON")
    return {}


def good_second(x, di, d, l):
    typed(x, di, d, l)
    other = f"A123X{x.n:06d}0"
    x.id(di, other, "Secondary", "HIBCC")
    return {"further": other}


def gone(x, di, d, l): typed(x, di, d, l); return {"status": "Not in Commercial Distribution", "is": "discontinued"}


def bad_swapped(x, di, d, l):
    x.size(di, "Length", "Millimeter", fmt(d, x.r)); x.size(di, "Outer Diameter", "Millimeter", str(l)); return {}


def bad_unit(x, di, d, l):
    x.size(di, "Length", "Centimeter", str(l)); x.size(di, "Outer Diameter", "Centimeter", fmt(d, x.r)); return {}


def bad_unknown_unit(x, di, d, l):
    x.size(di, "Length", "Furlong", str(l)); x.size(di, "Outer Diameter", "Millimeter", fmt(d, x.r)); return {}


def bad_disagree(x, di, d, l):
    typed(x, di, d, l)
    return {"more": " " + pair(d + x.r.choice([0.25, 0.5, 1.0]), l, x.r)}


def bad_disagree_length(x, di, d, l): typed(x, di, d, l); x.text(di, pair(d, l + 5, x.r)); return {}
def bad_two(x, di, d, l): x.text(di, f"{d:.2f} x {l} mm / {d + 0.5:.2f} x {l} mm"); return {}
def bad_range(x, di, d, l): x.text(di, f"{d:.1f}-{d + 1:.1f} mm x {l} mm"); return {}
def bad_close(x, di, d, l): x.text(di, "6 x 8"); return {}
def bad_three(x, di, d, l): x.text(di, f"{d:.2f} x {l} x {l + 2} mm"); return {}
def bad_length_only(x, di, d, l): x.size(di, "Length", "Millimeter", str(l)); return {}
def bad_nothing(x, di, d, l): x.text(di, x.r.choice(["", "see label", f"{l}mm", "M"])); return {}


def bad_profile(x, di, d, l):
    x.size(di, "Length", "Millimeter", str(l))
    x.size(di, "Outer Diameter", "Millimeter", x.r.choice(["1.04", "1.00", "1.25"]))
    return {}


def bad_decimal(x, di, d, l): x.text(di, f"{d * 100:.0f} x {l} mm"); return {}
def bad_french(x, di, d, l):
    x.size(di, "Length", "Millimeter", str(l)); x.size(di, "Outer Diameter", "French", f"{d * 3:g}"); return {}


def bad_turned(x, di, d, l): x.text(di, f"{d:.2f} mm (L) x {l} mm (D)"); return {}
def bad_inches(x, di, d, l): x.text(di, f"{d / 25.4:.1f} in x {l / 25.4:.1f} in"); return {}
def bad_count(x, di, d, l): typed(x, di, d, l); return {"count": "5"}
def bad_status(x, di, d, l): typed(x, di, d, l); return {"status": ""}
def bad_ref(x, di, d, l): typed(x, di, d, l); return {"ref": "", "version": ""}
def bad_covered(x, di, d, l): typed(x, di, d, l); return {"more": ", covered"}
def bad_pipe(x, di, d, l): typed(x, di, d, l); return {"desc": "Stent system | rapid exchange"}
def bad_break(x, di, d, l): typed(x, di, d, l); return {"desc": "Stent system\nrapid exchange"}
def bad_bytes(x, di, d, l): typed(x, di, d, l); return {"desc": "Stent system \udcff"}
def bad_twice(x, di, d, l): typed(x, di, d, l); return {"again": "Another stent system"}
def bad_codes(x, di, d, l): typed(x, di, d, l); return {"codes": ["NIQ", "MAF"]}
def bad_no_maker(x, di, d, l): typed(x, di, d, l); return {"company": ""}


GOOD = [good_typed] * 8 + [good_text] * 6 + [good_description] * 4 + [good_both] * 4 + [
    good_centimetres, good_inches, good_profile, good_french, good_noise, good_pipe, good_quotes, good_twice,
    good_packages, good_second]
BAD = [v for k, v in sorted(globals().items()) if k.startswith("bad_")]
BALLOON = ["Non-compliant balloon catheter", "Semi-compliant balloon catheter", "Semicompliant PTCA catheter",
           "Non compliant PTCA dilatation catheter"]


def make(x):
    r = x.r
    families = [(b, m, c) for i, b in enumerate(BRANDS) for m, c in
                [(MAKERS[i % 6], "NIQ" if i % 4 else "MAF"), (MAKERS[(i + 1) % 6], "LOX")]]
    devices = []
    for brand, company, code in families:
        kinds = [("drug-eluting stent", None)] if code == "NIQ" else [("bare-metal stent", None)] if code == "MAF" else [
            ("non-compliant balloon", BALLOON[0]), ("semi-compliant balloon", BALLOON[1 + r.randrange(2)])]
        for kind, words in kinds:
            versions = r.choice([["Mk 1", "Mk 2"], [""], ["own"]])
            for version in versions:
                for d in DIAMETERS:
                    for l in LENGTHS:
                        if r.random() < 0.42:
                            devices.append((brand, company, code, kind, words, version, d, l))
    r.shuffle(devices)
    for number, (brand, company, code, kind, words, version, d, l) in enumerate(devices):
        di = x.gtin() if number % 19 else f"A123{number:07d}0"
        x.n += 1
        dirt = r.choice(BAD) if number % 9 == 4 else gone if number % 31 == 7 else r.choice(GOOD)
        short = f"{brand[:2]}{code[0]}{kind[0]}".upper()
        ref = f"{short}{int(d * 100)}{l:02d}-{version[-1:] if version != 'own' else 'o'}-{number}"
        own = dirt(x, di, d, l)
        state = own.get("is") or ("unreadable" if dirt.__name__.startswith("bad_") else "readable")
        if dirt is bad_covered and code == "LOX":
            state = "readable"
        desc = own.get("desc") or (words or r.choice(["Coronary stent system", "Stent, rapid exchange"])) + own.get("more", "")
        if words and "desc" in own:
            # The balloon's kind is said in its description only.
            state = "unreadable"
        if code == "LOX" and "desc" not in own and number % 23 == 0:
            desc, state = "PTCA catheter" + own.get("more", ""), "discontinued" if state == "discontinued" else "unreadable"
        ref = own.get("ref", ref)
        model = own.get("version", ref if version == "own" else version)
        maker = own.get("company", company if r.random() < 0.9 else company.upper())
        row = x.row(di, brand, model, ref, maker, desc, own.get("status", "In Commercial Distribution"), own.get("count", "1"))
        x.device.append(row)
        if own.get("twice"):
            x.device.append(row)
        if own.get("again"):
            x.device.append(x.row(di, brand, model, ref, maker, own["again"]))
        x.id(di, di, "Primary", "HIBCC" if di[0] == "Q" else "GS1")
        for c in own.get("codes", [code]):
            x.codes.append(f"{di}|{c}|Invented name")
        x.truth.append("\t".join([di, state, kind, f"{d:g}", str(l), ref, own.get("further", ""), dirt.__name__]))
    # A check digit that is wrong; two devices that share an identifier; a code without a device.
    for kind_of in range(24):
        di = x.gtin()
        if kind_of % 3 == 0:
            di = di[:-1] + str((int(di[-1]) + 1) % 10)
        other = "A123SHARED10"
        if kind_of % 3 == 1:
            x.id(di, other, "Secondary", "HIBCC")
        if kind_of % 3 != 2:
            x.device.append(x.row(di, "Odd " + str(kind_of), "", f"ODD{kind_of}", MAKERS[0], "Coronary stent system"))
            typed(x, di, 3.0, 28)
        x.codes.append(f"{di}|NIQ|Invented name")
        x.truth.append("\t".join([di, "unreadable", "drug-eluting stent", "3", "28", f"ODD{kind_of}", "", "bad_identifier"]))


def crowd(x, many):
    for number in range(many):
        di = x.gtin()
        x.device.append(x.row(di, "Crowd", f"V{number}", f"C{number}", MAKERS[number % 6], "A thing that no room asks for"))
        x.codes.append(f"{di}|{OTHER[number % 6]}|Invented name")
        x.size(di, "Length", "Millimeter", str(number % 90))
        x.id(di, di, "Primary")


def write(path, header, rows, end="\n", mark=""):
    with open(path, "w", encoding="utf-8", errors="surrogateescape", newline="") as f:
        f.write(mark + "|".join(header) + end)
        f.writelines(row + end for row in rows)


def main():
    a = argparse.ArgumentParser()
    a.add_argument("dir", nargs="?", default=os.path.join(os.path.dirname(os.path.abspath(__file__)), "release"))
    a.add_argument("--fat", type=int, default=1)
    a = a.parse_args()
    os.makedirs(a.dir, exist_ok=True)
    x = Release()
    make(x)
    crowd(x, 1500 * a.fat)
    for rows in (x.device, x.sizes, x.codes, x.ids):
        x.r.shuffle(rows)
    write(os.path.join(a.dir, "device.txt"), DEVICE, x.device, mark="\ufeff")
    write(os.path.join(a.dir, "deviceSizes.txt"), SIZES, x.sizes, end="\r\n")
    write(os.path.join(a.dir, "productCodes.txt"), CODES, x.codes)
    write(os.path.join(a.dir, "identifiers.txt"), IDS, x.ids)
    write(os.path.join(a.dir, "truth.tsv"), ["di\tstate\tkind\tdiameter_mm\tlength_mm\tref\tfurther\tdirt"], x.truth)
    print(len(x.device), "devices,", len(x.sizes), "sizes,", len(x.codes), "codes,", len(x.ids), "identifiers")


main()
