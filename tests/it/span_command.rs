//! `boxcall span` as other programs meet it.

use crate::program::{boxcall, json};
use std::process::Output;

const CATALOGUES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/catalogues");
const LESION: [&str; 8] =
    ["--method", "oct", "--distal-eem", "3.0", "--proximal-eem", "3.5", "--length", "64"];

fn span(arguments: &[&str]) -> Output {
    let mut all = vec!["span", "--catalogue", CATALOGUES, "--json"];
    all.extend(arguments);
    boxcall(&all)
}

#[test]
fn span_answers_with_every_key_of_the_promise() {
    let output = span(&LESION);
    assert_eq!(output.status.code(), Some(0));
    let answer = json(&output);
    assert_eq!(answer["length_min_mm"], 64.0);
    assert!(answer["longest_mm"].is_null());
    let best = &answer["plans"][0];
    for key in ["devices", "overlaps_mm", "covered_mm", "metal_mm", "covers_at_largest_overlap", "optimal"] {
        assert!(!best[key].is_null(), "{key}");
    }
    assert_eq!(best["optimal"], true);
    for key in ["product", "diameter_mm", "length_mm", "ref"] {
        assert!(!best["devices"][0][key].is_null(), "{key}");
    }
    // Common practice, no source: a guide can be changed, so it changes no plan.
    let mut with_guide = LESION.to_vec();
    with_guide.extend(["--guide", "5"]);
    assert_eq!(json(&span(&with_guide))["plans"], answer["plans"]);
}

#[test]
fn no_plan_is_a_clean_no() {
    let mut few = LESION.to_vec();
    few.extend(["--max-devices", "1"]);
    let output = span(&few);
    assert_eq!(output.status.code(), Some(1));
    let answer = json(&output);
    assert_eq!(answer["plans"], serde_json::json!([]));
    assert!(answer["longest_mm"].as_f64().is_some_and(|longest| longest < 64.0));
}

#[test]
fn what_cannot_be_read_is_refused_by_name() {
    for (extra, field) in [
        (["--kind", "non-compliant-balloon"], "kind"),
        (["--max-devices", "0"], "max-devices"),
        (["--avoid", "25-20"], "avoid"),
        (["--placed", "3.0x29"], "placed"),
        (["--placed", "3.0x29@90"], "placed"),
        (["--lesions", "/no/such/file"], "lesions"),
    ] {
        let mut arguments = LESION.to_vec();
        arguments.extend(extra);
        let output = span(&arguments);
        assert_eq!(output.status.code(), Some(2), "{extra:?}");
        let message = json(&output)["error"]["message"].to_string();
        assert!(message.contains(field), "{message}");
    }
}

#[test]
fn lesions_of_a_file_share_the_shelf_and_its_faults_have_lines() {
    let dir = tempfile::tempdir().expect("a folder");
    let file = dir.path().join("lesions.toml");
    let path = file.to_str().expect("a path");
    let first = "[[lesion]]\nid = \"a\"\nmethod = \"oct\"\ndistal-eem = 3.0\nlength = 64\n";
    let second = "[[lesion]]\nid = \"b\"\nmethod = \"ivus\"\ndistal_eem = \"3.3x3.1\"\nlength = 20\n";
    std::fs::write(&file, format!("{first}{second}")).expect("written");
    let output = span(&["--lesions", path]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let answer = json(&output);
    assert_eq!(answer["lesions"][0]["id"], "a");
    assert_eq!(answer["devices"], 3);
    assert_eq!(answer["optimal"], true);
    let covered = |i: usize| answer["lesions"][i]["plans"][0]["covered_mm"].as_f64().expect("covered");
    assert_eq!(answer["excess_mm"].as_f64(), Some(covered(0) + covered(1) - 84.0));

    let slips =
        "[[lesion]]\nid = \"a\"\nmethod = \"oct\"\ndistal-em = 3.0\nlength = 640\n[[lesion]]\nid = \"a\"\n";
    std::fs::write(&file, slips).expect("written");
    let output = span(&["--lesions", path]);
    assert_eq!(output.status.code(), Some(2));
    let message = json(&output)["error"]["message"].as_str().expect("words").to_string();
    for place in [":4: lesion[1].distal-em", ":5: lesion[1].length", ":7: lesion[2].id"] {
        assert!(message.contains(place), "{place}: {message}");
    }
}
