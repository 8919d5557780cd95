#!/usr/bin/env python3
"""Decodes the symbols that benches/label.rs wrote (SVG, and their bytes in hexadecimal) with PyPI zxing-cpp.

Needs rsvg-convert, zxing-cpp, Pillow. Run: python3 tests/reference/datamatrix.py FOLDER
The folder holds NAME.svg and NAME.hex; NAME begins with gs1- for a symbol marked as GS1, with card- for a plain one.
Ends with 1 at the first difference.
"""
import io
import pathlib
import subprocess
import sys

import zxingcpp
from PIL import Image

folder = pathlib.Path(sys.argv[1])
pictures = sorted(folder.glob("*.svg"))
if len(pictures) < 10:
    sys.exit(f"{folder} holds {len(pictures)} symbols: write them first with the bench")
for picture in pictures:
    png = subprocess.run(
        ["rsvg-convert", "--zoom", "4", str(picture)], capture_output=True, check=True
    ).stdout
    found = zxingcpp.read_barcodes(Image.open(io.BytesIO(png)).convert("L"), formats=zxingcpp.BarcodeFormat.DataMatrix)
    lines = picture.with_suffix(".hex").read_text().split()
    wanted = sorted(bytes.fromhex(line) for line in lines)
    got = sorted(bytes(symbol.bytes) for symbol in found)
    if got != wanted:
        sys.exit(f"{picture.name}: wrote {wanted}, zxing-cpp reads {got}")
    mark = "]d2" if picture.name.startswith("gs1-") else "]d1"
    for symbol in found:
        if symbol.symbology_identifier != mark:
            sys.exit(f"{picture.name}: {symbol.symbology_identifier} instead of {mark}")
print(f"{len(pictures)} pictures decode to the bytes that were written")
