#!/usr/bin/env python3
"""Validates a FHIR R4 collection with fhir.resources 8.3.0 (PyPI, models R4B: the elements used here are the same in R4
4.0.1), round-trips it, and asks by hand what the models do not ask: codes, invariants bdl-7 and ele-1, the carriers.

Run: python tests/reference/fhir_check.py FILE
"""
import base64, json, sys

from fhir.resources.R4B.bundle import Bundle

# HL7 FHIR R4 4.0.1: device-status, udi-entry-type, event-status, supplydelivery-status, device-nametype.
CODES = {
    ("Device", "status"): {"active", "inactive", "entered-in-error", "unknown"},
    ("Procedure", "status"): {"preparation", "in-progress", "not-done", "on-hold", "stopped", "completed", "entered-in-error", "unknown"},
    ("SupplyDelivery", "status"): {"in-progress", "completed", "abandoned", "entered-in-error"},
}
ENTRY = {"barcode", "rfid", "manual", "card", "self-reported", "unknown"}
NAME = {"udi-label-name", "user-friendly-name", "patient-reported-name", "manufacturer-name", "model-name", "other"}
PERSONS = {"Patient", "Person", "RelatedPerson", "Practitioner"}

faults = []


def must(holds, what):
    if not holds:
        faults.append(what)


def walk(node, path="Bundle"):
    yield path, node
    inner = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in inner:
        yield from walk(value, f"{path}.{key}")


data = json.load(open(sys.argv[1], encoding="utf-8"))
again = json.loads(Bundle.model_validate(data).model_dump_json())
number = lambda text: float(text) if isinstance(text, (int, float)) and not isinstance(text, bool) else text
flat = lambda tree: {path: number(node) for path, node in walk(tree) if not isinstance(node, (dict, list))}
lost = {path for path, value in flat(data).items() if path not in flat(again)}
must(not lost, f"lost on the way through the models: {sorted(lost)}")

urls = [entry.get("fullUrl") for entry in data["entry"]]
must(None not in urls and len(set(urls)) == len(urls), "bdl-7: each entry has a fullUrl of its own")
for path, node in walk(data):
    must(node not in ("", [], {}), f"{path}: ele-1, an empty value")
    if isinstance(node, dict):
        must(node.get("resourceType") not in PERSONS, f"{path}: a person")
        must("reference" not in node or node["reference"] in urls, f"{path}: points out of the bundle")
    if isinstance(node, str):
        must(not any(ord(c) < 32 for c in node), f"{path}: a control character")
for resource in (entry["resource"] for entry in data["entry"]):
    kind = resource["resourceType"]
    must(resource.get("status") in CODES[kind, "status"], f"{kind}: status {resource.get('status')!r}")
    for carrier in resource.get("udiCarrier", []):
        must(carrier.get("entryType") in ENTRY, "udiCarrier.entryType")
        must(carrier.get("carrierHRF"), f"{carrier['deviceIdentifier']}: a carrier without what is printed (carrierHRF)")
        must("carrierAIDC" in carrier or carrier["entryType"] != "barcode", "a scanned carrier without its bytes")
        if "carrierAIDC" in carrier:
            scanned = base64.b64decode(carrier["carrierAIDC"], validate=True).decode()
            must(carrier["deviceIdentifier"] in scanned, "carrierAIDC: the identifier is not in the bytes")
    for name in resource.get("deviceName", []):
        must(name["type"] in NAME, "deviceName.type")
for fault in faults:
    print("fault:", fault)
print(f"{sys.argv[1]}: {len(urls)} resources, {'NOT valid' if faults else 'valid'}")
sys.exit(bool(faults))
