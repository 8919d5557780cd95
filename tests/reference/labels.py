#!/usr/bin/env python3
"""Asks two public GS1 readers about every GS1 row of tests/data/label_vectors.tsv; writes tests/reference/labels.tsv.

Needs PyPI biip 5.2.0 and, through node, npm gs1-barcode-parser-mod 1.2.1 (labels.js asks it). `check` installs both.
Run: NODE_PATH=<folder of node_modules> python3 tests/reference/labels.py [OUTPUT]
Columns: id; biip's verdict and its di, lot, serial, use_by, made; mod's verdict and the same fields.
The window of two-digit years is the one of the year 2026: a run in another year may differ in far dates.
Lines that begin with # say what the thousand labels of benches/label.rs took and their SHA-256.
"""
import hashlib
import json
import pathlib
import subprocess
import sys
import time

import biip

HERE = pathlib.Path(__file__).resolve().parent
FIELDS = {"01": "di", "10": "lot", "21": "serial", "17": "use_by", "11": "made"}
ORDER = ["di", "lot", "serial", "use_by", "made"]


def unescaped(text):
    out, at = bytearray(), 0
    data = text.encode("utf-8")
    while at < len(data):
        if data[at : at + 2] == b"\\x":
            out.append(int(data[at + 2 : at + 4], 16))
            at += 4
        elif data[at : at + 2] == b"\\\\":
            out.append(0x5C)
            at += 2
        else:
            out.append(data[at])
            at += 1
    return out.decode("utf-8", "replace")


def clean(value):
    return json.dumps(value, ensure_ascii=True)[1:-1].replace("\t", "\\t")


def ask_biip(text):
    try:
        result = biip.parse(text)
    except biip.ParseError:
        return ["no"] + [""] * 5
    fields = {}
    message = result.gs1_message or result.gs1_digital_link_uri
    if message:
        for element in message.element_strings:
            # biip reads on behind a wrong check digit and says so in the field: that is a refusal of the field.
            if element.gtin_error or element.sscc_error or element.gln_error:
                return ["no"] + [""] * 5
            name = FIELDS.get(element.ai.ai)
            if name:
                value = element.date.isoformat() if element.date else element.value
                fields.setdefault(name, value)
    elif result.gtin:
        fields["di"] = result.gtin.as_gtin_14()
    else:
        return ["no"] + [""] * 5
    return ["ok"] + [clean(fields.get(name, "")) for name in ORDER]


def gtin(number):
    body = f"0952{number * 7654321 % 1000000000:09}"
    total = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(body)))
    return body + str(-total % 10)


def thousand():
    """The labels of benches/label.rs, built here once more from the standard's text."""
    return [
        f"01{gtin(i)}1727{i % 12 + 1:02}{i % 28 + 1:02}10L{i:05}\x1d21S{i * 31:06}" for i in range(1000)
    ]


def main():
    lines = (HERE.parent / "data" / "label_vectors.tsv").read_text("utf-8").split("\n")
    rows = [line.split("\t") for line in lines[1:] if line]
    rows = [row for row in rows if row[0][:2] in ("GS", "DL", "WE", "DA")]
    inputs = [unescaped(row[1]) for row in rows]
    asked = subprocess.run(
        ["node", str(HERE / "labels.js")], input=json.dumps(inputs), capture_output=True, text=True, check=True
    )
    mod = json.loads(asked.stdout)
    labels = thousand()
    best = float("inf")
    for _ in range(5):
        start = time.perf_counter()
        for label in labels:
            biip.parse("]d2" + label)
        best = min(best, time.perf_counter() - start)
    out = pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "labels.tsv"
    digest = hashlib.sha256("\n".join(labels).encode()).hexdigest()
    text = [
        f"# biip_microseconds_per_label\t{best * 1000:.1f}",
        f"# thousand_labels_sha256\t{digest}",
        "\t".join(["id", "biip"] + ["biip_" + f for f in ORDER] + ["mod"] + ["mod_" + f for f in ORDER]),
    ]
    for row, given, answer in zip(rows, inputs, mod):
        fields = [clean(answer["fields"].get(name, "")) for name in ORDER]
        text.append("\t".join([row[0]] + ask_biip(given) + [answer["verdict"]] + fields))
    out.write_text("\n".join(text) + "\n", "utf-8")


main()
