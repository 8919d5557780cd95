//! The command line as other programs meet it: the real binary, its JSON, its exit statuses, its refusals.

use crate::program::{boxcall, boxcall_in, json, status, words};
use crate::samples::{self, Defers};
use serde_json::Value;
use std::collections::BTreeSet;
use std::io::Write;
use std::process::{Command, Output, Stdio};

const CATALOGUES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/catalogues");

/// `boxcall fit` with the demo's products, and these measures.
fn fit(measures: &[&str]) -> Output {
    let mut arguments = vec!["fit", "--catalogue", CATALOGUES, "--json"];
    arguments.extend(measures);
    boxcall(&arguments)
}

/// An error stands on standard output as JSON and on standard error in words.
fn refused(output: &Output, code: &str, exit: i32) -> String {
    assert_eq!(status(output), exit, "{}", words(&output.stdout));
    let error = &json(output)["error"];
    assert_eq!(error["code"], code, "{error}");
    let message = error["message"].as_str().expect("a message").to_string();
    assert!(words(&output.stderr).contains(message.lines().next().unwrap_or_default()), "also in words");
    message
}

const LESION: &[&str] =
    &["--method", "oct", "--distal-eem", "3.2", "--proximal-eem", "3.6", "--length", "24"];

#[test]
fn fit_answers_with_every_key_of_the_promise() {
    let answer = json(&fit(LESION));
    let keys = |value: &Value| value.as_object().expect("an object").keys().cloned().collect::<Vec<_>>();
    let mut target = keys(&answer["target"]);
    target.sort();
    let promised = "aim_mm distal_mm length_max_mm length_min_mm lesion_mm margins_mm proximal_mm proximal_target_mm rule window_mm";
    assert_eq!(target.join(" "), promised);
    let sizes = answer["sizes"].as_array().expect("sizes");
    assert!(sizes.len() > 200, "every box of the kinds judged");
    let mut size = keys(&sizes[0]);
    size.sort();
    let promised = "behind deploy_atm diameter_mm guide_ok length_mm on_shelf post_dilate product rank reasons ref steadiness verdict";
    assert_eq!(size.join(" "), promised);
    assert!(sizes[0]["on_shelf"].is_null(), "null without stock");
    let mut reason = keys(&sizes[0]["reasons"][0]);
    reason.sort();
    assert_eq!(reason.join(" "), "bound code holds source value");
}

#[test]
fn a_comma_a_pair_and_an_area_are_read() {
    let by_comma =
        fit(&["--method", "oct", "--distal-eem", "3,2", "--proximal-eem", "3,6", "--length", "24"]);
    assert_eq!(json(&by_comma), json(&fit(LESION)));
    let pair = fit(&["--method", "ivus", "--distal-eem", "3.30x3.10", "--length", "20"]);
    assert!((json(&pair)["target"]["distal_mm"].as_f64().unwrap() - 3.2).abs() < 1e-9);
    // A = π/4 d²: 7.0686 mm² is a circle of 3.0 mm.
    let area = fit(&["--method", "ivus", "--distal-eem", "7.0686mm2", "--length", "20"]);
    assert!((json(&area)["target"]["distal_mm"].as_f64().unwrap() - 3.0).abs() < 1e-4);
}

#[test]
fn nothing_that_fits_is_a_clean_no_with_the_same_object() {
    let output = fit(&["--method", "oct", "--distal-eem", "3.2", "--length", "100"]);
    assert_eq!(status(&output), 1);
    let answer = json(&output);
    assert!(answer["sizes"].as_array().expect("sizes").iter().all(|size| size["verdict"] == "no"));
}

#[test]
fn stock_is_counted_by_identifier_and_date() {
    let stock = format!("{CATALOGUES}/room/stock.csv");
    let on_shelf = |today: &str| {
        let mut measures = LESION.to_vec();
        measures.extend(["--stock", &stock, "--today", today]);
        let answer = json(&fit(&measures));
        let sizes = answer["sizes"].as_array().expect("sizes").clone();
        sizes.iter().map(|size| size["on_shelf"].as_u64().expect("a number")).sum::<u64>()
    };
    assert!(on_shelf("2026-11-25") > 100);
    assert_eq!(on_shelf("2040-01-01"), 0, "everything has expired by then");
}

#[test]
fn bad_measures_name_the_field_the_value_and_what_is_believed() {
    let cases: &[(&[&str], &[&str])] = &[
        (&["--method", "oct", "--distal-eem", "37", "--length", "24"], &["distal-eem", "37", "8"]),
        (&["--method", "oct", "--distal-eem", "0.12", "--length", "24"], &["distal-eem", "0.12"]),
        (&["--method", "oct", "--distal-eem", "NaN", "--length", "24"], &["NaN"]),
        (&["--method", "oct", "--distal-eem", "1e308", "--length", "24"], &["1e308"]),
        (&["--method", "oct", "--distal-eem", "3..2", "--length", "24"], &["3..2"]),
        (&["--method", "oct", "--distal-eem", "6F", "--length", "24"], &["6F"]),
        (&["--method", "oct", "--distal-eem", "3.2", "--length", "-4"], &["length", "-4"]),
        (&["--method", "oct", "--distal-eem", "3.2"], &["length"]),
        (&["--distal-eem", "3.2", "--length", "24"], &["method"]),
        (
            &["--method", "oct", "--distal-lumen", "3.3", "--distal-eem", "3.2", "--length", "24"],
            &["distal-lumen"],
        ),
        (&["--method", "qca", "--distal-eem", "3.2", "--length", "24"], &["EEM"]),
        (&["--method", "oct", "--distal-eem", "3.2", "--length", "24", "--guide", "9"], &["guide", "9"]),
        (
            &["--method", "oct", "--distal-eem", "3.2", "--length", "24", "--segment", "77"],
            &["segment", "77"],
        ),
        (&["--method", "oct", "--distal-eem", "3.2", "--length", "24", "--limit", "400"], &["limit", "400"]),
        (
            &["--method", "oct", "--distal-eem", "3.2", "--length", "24", "--kind", "non-compliant balloon"],
            &["balloon"],
        ),
        (
            &["--method", "oct", "--distal-lumen", "3.2", "--length", "24", "--rule", "distal-eem"],
            &["distal"],
        ),
    ];
    for (measures, named) in cases {
        let output = fit(measures);
        assert_eq!(status(&output), 2, "{measures:?}: {}", words(&output.stdout));
        let message = json(&output)["error"]["message"].as_str().expect("a message").to_string();
        for word in *named {
            assert!(message.contains(word), "{measures:?}: {word} is not named in {message}");
        }
    }
}

/// A slip in the one measure given is one slip: nobody is told besides that a lumen, which nobody spoke of, is missing.
#[test]
fn an_eem_that_can_not_be_read_is_told_alone() {
    for typed in ["2.9x", "3.0.1", "three"] {
        let message =
            refused(&fit(&["--method", "oct", "--distal-eem", typed, "--length", "24"]), "bad-input", 2);
        assert!(message.starts_with("distal-eem") && message.contains(typed), "{message}");
        assert!(!message.contains("distal-lumen"), "{message}");
    }
}

/// What other programs are promised (docs/json.md, and for a record its schema) against what they get.
#[test]
fn every_key_of_an_answer_stands_in_the_table_of_the_promise() {
    let (general, table) = include_str!("../../docs/json.md").split_once("| command |").expect("its table");
    assert!(general.contains("`deference`"), "it is promised of every answer");
    assert!(
        general.contains("`journal {holds, checked_from"),
        "it is promised of every answer out of a journal"
    );
    let schema: Value = serde_json::from_str(boxcall::report::SCHEMA).expect("a schema");
    let mut missing = BTreeSet::new();
    for (sample, ran) in samples::in_json().filter(|(sample, _)| sample.defers != Defers::Refused) {
        let answer = json(&ran.output);
        let answer = answer.as_object().expect("an object");
        if sample.shape == samples::RECORD {
            let unknown = answer.keys().filter(|key| !schema["properties"][key].is_object());
            missing.extend(unknown.map(|key| format!("the schema: {key}")));
            continue;
        }
        let head = format!("`{}`", sample.shape);
        let row = table.lines().find(|line| {
            let first = line.trim_start_matches('|').split('|').next().unwrap_or_default();
            first.split(',').any(|name| name.trim() == head)
        });
        let row = row.unwrap_or_else(|| panic!("{head} has no row"));
        let known = |key: &str| {
            let mut words = row.split(|c: char| !c.is_ascii_alphanumeric() && c != '_');
            words.any(|word| word == key)
        };
        // What was found out about the journal is promised of every answer that comes out of one.
        for (key, value) in answer.iter().filter(|(key, _)| *key != "journal") {
            if !known(key) && key != "deference" {
                missing.insert(format!("{head}: {key}"));
            }
            let inner = value.as_array().and_then(|list| list.first()).unwrap_or(value).as_object();
            for key in inner.into_iter().flat_map(|object| object.keys()) {
                if !known(key) && key != "code" && key != "message" {
                    missing.insert(format!("{head}: {key}"));
                }
            }
        }
    }
    assert!(missing.is_empty(), "not promised: {missing:#?}");
}

#[test]
fn the_command_lines_own_errors_are_json_too() {
    for arguments in
        [&["fit", "--bogus", "--json"][..], &["--json", "nosuch"], &["inflate", "--product", "--json"]]
    {
        let output = boxcall(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(json(&output)["error"]["code"].is_string(), "{arguments:?}");
        assert!(!output.stderr.is_empty());
    }
}

#[test]
fn without_a_room_it_says_so_and_never_shows_the_demo_in_silence() {
    let home = tempfile::tempdir().expect("a folder");
    for arguments in [
        &["fit", "--json", "--method", "oct", "--distal-eem", "3", "--length", "20"][..],
        &["case", "list", "--json"],
    ] {
        refused(&boxcall_in(arguments, home.path()), "no-room", 3);
    }
    let output = boxcall_in(&["fit", "--json", "--catalogue", "/no/such/folder"], home.path());
    assert_eq!(status(&output), 3, "{}", words(&output.stdout));
}

#[test]
fn inflate_reads_the_products_own_chart_and_no_further() {
    let ask = |more: &[&str]| {
        let mut arguments =
            vec!["inflate", "--catalogue", CATALOGUES, "--json", "--product", "fell", "--diameter", "2.75"];
        arguments.extend(more);
        boxcall(&arguments)
    };
    // The chart of the product's file: 11 atm 2.75 mm, 12 atm 2.78 mm.
    let row = json(&ask(&["--at", "12"]));
    assert_eq!(
        (row["diameter_mm"].as_f64(), row["reachable"].as_bool(), row["interpolated"].as_bool()),
        (Some(2.78), Some(true), Some(false))
    );
    let between = json(&ask(&["--at", "11.5"]));
    assert!(
        (between["diameter_mm"].as_f64().unwrap() - 2.765).abs() < 1e-9 && between["interpolated"] == true
    );
    let past = ask(&["--at", "19"]);
    assert_eq!(status(&past), 1);
    let past = json(&past);
    assert!(past["diameter_mm"].is_null() && past["reachable"] == false && past["interpolated"] == false);
    assert_eq!(status(&ask(&[])), 2);
    assert_eq!(status(&ask(&["--at", "12", "--to", "2.8"])), 2);
    let unknown = boxcall(&[
        "inflate", "--catalogue", CATALOGUES, "--json", "--product", "nosuch", "--diameter", "3", "--at", "9",
    ]);
    refused(&unknown, "not-found", 1);
}

#[test]
fn read_takes_a_word_or_standard_input() {
    let label = "]d20109521001275293172702281042K\u{1d}21S7";
    let answer = json(&boxcall(&["read", "--json", "--today", "2026-11-25", label]));
    assert_eq!(answer["system"], "gs1");
    assert_eq!((answer["lot"].as_str(), answer["serial"].as_str()), (Some("42K"), Some("S7")));
    assert_eq!(answer["use_by"], "2027-02-28");
    let mut child = Command::new(env!("CARGO_BIN_EXE_boxcall"))
        .args(["read", "--json", "--today", "2026-11-25", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program runs");
    child.stdin.take().expect("a pipe").write_all(format!("{label}\r\n").as_bytes()).expect("it reads");
    assert_eq!(json(&child.wait_with_output().expect("it ends")), answer);
    let wrong = boxcall(&["read", "--json", "]d2010952100127529417270228"]);
    refused(&wrong, "check-digit", 2);
    assert!(json(&wrong)["error"]["position"].is_u64());
}

#[test]
fn a_catalogue_with_many_faults_reports_each_with_its_line() {
    let folder = tempfile::tempdir().expect("a folder");
    let good = std::fs::read_to_string(format!("{CATALOGUES}/fell.toml")).expect("the demo has it");
    let bad =
        good.replacen("rated_burst_atm = 18", "rated_burst_atm = 1", 1).replacen("name = ", "nmae = ", 1);
    std::fs::write(folder.path().join("fell.toml"), bad).expect("it is written");
    std::fs::write(folder.path().join("other.toml"), "schema = 7\nid = 'X'\n").expect("it is written");
    let output = boxcall(&["catalogue", "check", folder.path().to_str().expect("a path"), "--json"]);
    assert_eq!(status(&output), 2);
    let text = words(&output.stdout);
    for named in ["fell.toml", "other.toml", "nmae", "name", "schema"] {
        assert!(text.contains(named), "{named}: {text}");
    }
    assert_eq!(status(&boxcall(&["catalogue", "check", CATALOGUES])), 0);
    assert_eq!(status(&boxcall(&["catalogue", "check", "/no/such/folder"])), 3);
}

#[test]
fn the_whole_job_without_a_terminal_and_what_is_left_of_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let room = folder.path().join("room");
    let path = room.to_str().expect("a path");
    let walked = boxcall(&["demo", "--plain", "--room", path]);
    let text = words(&walked.stdout);
    assert_eq!(status(&walked), 0, "{text}{}", words(&walked.stderr));
    for step in
        ["SAME AS CALL 1", "DIFFERENT", "STOP: EXPIRED", "NO CALL", "say back", "the chain holds", "# Case"]
    {
        assert!(text.contains(step), "{step} is missing:\n{text}");
    }
    assert!(text.contains("opened 3 = implanted 1 + used 1 + not used 1"), "{text}");

    let checked = boxcall(&["--room", path, "journal", "check", "--json"]);
    assert_eq!(status(&checked), 0, "{}", words(&checked.stdout));
    let shown = boxcall(&["--room", path, "case", "show"]);
    assert_eq!(status(&shown), 0);
    let exported = json(&boxcall(&["--room", path, "case", "export", "--format", "json"]));
    assert!(exported.is_object());
    let csv = words(&boxcall(&["--room", path, "case", "export", "--format", "csv"]).stdout);
    assert_eq!(
        csv.lines().filter(|line| !line.is_empty()).count(),
        1 + 5,
        "a head, three opened, two put back:\n{csv}"
    );
    refused(&boxcall(&["--room", path, "--json", "case", "show", "ZZZZZ"]), "not-found", 1);
    let stock = json(&boxcall(&["--room", path, "stock", "list", "--json"]));
    assert!(words(&serde_json::to_vec(&stock).expect("JSON")).contains("cupboard"));

    // Laying the demo where something is already would bury it.
    let again = boxcall(&["demo", "--plain", "--room", path]);
    assert_ne!(status(&again), 0);
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_boxcall"))
        .args(["fit", "--catalogue", CATALOGUES, "--json"])
        .args(LESION)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert!(!words(&output.stderr).contains("panicked"), "{}", words(&output.stderr));
}

#[test]
fn the_policy_that_is_printed_is_one_that_is_read() {
    let printed = words(&boxcall(&["policy"]).stdout);
    let policy = boxcall::policy::read("policy.toml", &printed).expect("it reads back");
    assert_eq!(policy, boxcall::policy::Policy::default());
}

#[test]
fn the_demo_case_as_json_is_the_record_alone_and_the_steps_go_aside() {
    let walked = boxcall(&["demo", "--plain", "--json"]);
    assert_eq!(status(&walked), 0, "{}", words(&walked.stderr));
    let record = json(&walked);
    assert_eq!(record["totals"]["unsettled"], 0, "{record}");
    assert!(words(&walked.stderr).contains("in rule"), "the steps stand on standard error");
}
