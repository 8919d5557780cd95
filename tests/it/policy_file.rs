//! The protocol file.

use boxcall::measure::{Kind, Law, Rule};
use boxcall::policy::{self, Policy};

fn places(text: &str) -> Vec<(usize, String)> {
    let faults = policy::read("policy.toml", text).expect_err(text);
    faults.into_iter().map(|fault| (fault.line, fault.key)).collect()
}

#[test]
fn the_commented_file_reads_back_to_the_defaults() {
    assert_eq!(policy::read("policy.toml", &policy::commented()), Ok(Policy::default()));
    assert_eq!(policy::read("policy.toml", ""), Ok(Policy::default()));
}

#[test]
fn every_default_of_the_commented_file_has_a_source_beside_it() {
    let file = include_str!("../../src/policy/commented.toml");
    let lines: Vec<&str> = file.lines().collect();
    for (above, line) in
        lines.iter().zip(&lines[1..]).filter(|(_, line)| !line.starts_with('#') && line.contains('='))
    {
        let place = if line.contains('#') { line } else { above };
        assert!(boxcall::sources::cited(place).next().is_some() || *line == "schema = 1", "{line}");
    }
    let printed = policy::commented();
    let (_, full) = printed.split_once("# The sources in full:\n").expect("the sources come last");
    assert_eq!(full.matches("European Heart Journal 2018;39:3281").count(), 1, "{full}");
}

#[test]
fn each_value_is_taken_from_the_file() {
    // Every default is changed, so a key that is read into the wrong place shows.
    let text = r#"
schema = 1
currency = "NOK"
judged = ["bare-metal stent", "covered stent"]
[rule]
angiography = "mean-lumen"
qca = "distal-lumen"
ivus = "smaller-eem"
oct = "mean-lumen"
[error_mm]
angiography = { diameter = 0.3, length = 4 }
qca = { diameter = 0.22, length = 2.5 }
ivus = { diameter = 0.11, length = 1.5 }
oct = { length = 0.5 }
[margin_mm]
angiography = 4
qca = 2
ivus = 1
oct = 0.5
[window]
step_mm = 0.3
next_size_down_mm = 0.4
ratio = [0.95, 1.2]
[overlap_mm]
planned = 4
least = 1
most = 6
[span]
largest_step_mm = 0.25
max_devices = 3
mix_products = true
[rank]
steady_at_least = 0.9
long_mm = 6
[branch]
law = "murray"
[post_dilate]
near_mm = 0.05
[landing]
plaque_burden = 0.6
[believed]
diameter_mm = [1.5, 7]
length_mm = [2, 140]
area_mm2 = [1, 50]
[par]
"3,0x29" = 2
"ES-2" = 1
"#;
    let read = policy::read("policy.toml", text).unwrap();
    assert_eq!(
        (read.currency.as_str(), &read.judged[..]),
        ("NOK", &[Kind::BareMetalStent, Kind::CoveredStent][..])
    );
    let rules = [read.rule.angiography, read.rule.qca, read.rule.ivus, read.rule.oct];
    assert_eq!(rules, [Rule::MeanLumen, Rule::DistalLumen, Rule::SmallerEem, Rule::MeanLumen]);
    let errors = [read.error.angiography, read.error.qca, read.error.ivus, read.error.oct];
    let errors = errors.map(|error| (error.diameter.mm(), error.length.mm()));
    assert_eq!(errors, [(0.3, 4.0), (0.22, 2.5), (0.11, 1.5), (0.06, 0.5)]);
    let margins = [read.margin.angiography, read.margin.qca, read.margin.ivus, read.margin.oct];
    assert_eq!(margins.map(|margin| margin.mm()), [4.0, 2.0, 1.0, 0.5]);
    let window = read.window;
    assert_eq!((window.step.mm(), window.next_size_down.mm(), window.ratio), (0.3, 0.4, [0.95, 1.2]));
    let overlap = read.overlap;
    assert_eq!((overlap.planned.mm(), overlap.least.mm(), overlap.most.mm()), (4.0, 1.0, 6.0));
    let span = read.span;
    assert_eq!(
        (span.largest_step.map(|step| step.mm()), span.max_devices, span.mix_products),
        (Some(0.25), 3, true)
    );
    assert_eq!((read.rank.steady_at_least, read.rank.long.mm()), (0.9, 6.0));
    assert_eq!((read.branch_law, read.near.mm(), read.plaque_burden), (Law::Murray, 0.05, 0.6));
    let believed = read.believed;
    assert_eq!(believed.diameter_mm, [1.5, 7.0]);
    assert_eq!((believed.length_mm, believed.area_mm2), ([2.0, 140.0], [1.0, 50.0]));
    let par: Vec<_> =
        read.par.iter().map(|par| (par.item.as_str(), par.pieces, par.size().is_some())).collect();
    assert_eq!(par, [("3,0x29", 2, true), ("ES-2", 1, false)]);
}

#[test]
fn each_check_has_its_place() {
    for (text, line, key) in [
        ("schema = 2", 1, "schema"),
        ("currency = \"\"", 1, "currency"),
        ("curency = \"EUR\"", 1, "curency"),
        ("judged = []", 1, "judged"),
        ("judged = [\"drug-eluting stent\",\n\"scoring balloon\"]", 2, "judged[2]"),
        ("judged = [\"covered stent\", \"covered stent\"]", 1, "judged[2]"),
        ("judged = \"covered stent\"", 1, "judged"),
        ("[rule]\nivus = \"distal-eel\"", 2, "rule.ivus"),
        // An angiogram shows the lumen only.
        ("[rule]\nqca = \"distal-eem\"", 2, "rule.qca"),
        ("[rule]\nmri = \"distal-eem\"", 2, "rule.mri"),
        ("[error_mm]\noct = { diameter = 0 }", 2, "error_mm.oct.diameter"),
        ("[error_mm]\noct = { diameter = -0.1 }", 2, "error_mm.oct.diameter"),
        ("[error_mm]\noct = { lenght = 1 }", 2, "error_mm.oct.lenght"),
        ("[error_mm]\noct = 0.06", 2, "error_mm.oct"),
        ("[margin_mm]\nqca = -1", 2, "margin_mm.qca"),
        ("[window]\nstep_mm = 0", 2, "window.step_mm"),
        ("[window]\nstep_mm = 2.0", 2, "window.step_mm"),
        ("[rank]\nsteady_at_least = 80", 2, "rank.steady_at_least"),
        ("[rank]\nlong_mm = -1", 2, "rank.long_mm"),
        ("[branch]\nlaw = \"murrey\"", 2, "branch.law"),
        ("[post_dilate]\nnear_mm = 1", 2, "post_dilate.near_mm"),
        ("[landing]\nplaque_burden = 50", 2, "landing.plaque_burden"),
        ("[window]\nratio = [1.1, 1.0]", 2, "window.ratio"),
        ("[window]\n# 1.1 without its point\nratio = [1.0, 11]", 3, "window.ratio"),
        ("[window]\nratio = [1.0]", 2, "window.ratio"),
        ("[overlap_mm]\nplanned = 6", 2, "overlap_mm.planned"),
        ("[overlap_mm]\nleast = 4\nplanned = 3", 3, "overlap_mm.planned"),
        ("[overlap_mm]\nleast = 4", 2, "overlap_mm.least"),
        ("[span]\nmax_devices = 0", 2, "span.max_devices"),
        ("[span]\nmax_devices = 2.5", 2, "span.max_devices"),
        ("[span]\nlargest_step_mm = -0.5", 2, "span.largest_step_mm"),
        ("[span]\nmix_products = 1", 2, "span.mix_products"),
        ("[believed]\nlength_mm = [150, 1]", 2, "believed.length_mm"),
        ("[believed]\narea_mm2 = [0, 60]", 2, "believed.area_mm2"),
        ("[par]\n\"29x3.00\" = 2", 2, "par.29x3.00"),
        ("[par]\n\"3.0x29\" = 2\n\"3.00x29\" = 1", 3, "par.3.00x29"),
        ("[par]\n\"3.00x29\" = -2", 2, "par.3.00x29"),
        ("[par]\n\"\" = 2", 2, "par."),
        ("par = 2", 1, "par"),
    ] {
        assert_eq!(places(text), [(line, key.to_string())], "{text}");
    }
}

#[test]
fn an_unknown_key_names_the_nearest() {
    let faults = policy::read("policy.toml", "[window]\nnext_size_dwn_mm = 0.5\n").unwrap_err();
    assert_eq!(
        faults[0].to_string(),
        "policy.toml:2: window.next_size_dwn_mm: is not known here; \
         the nearest known one is \"next_size_down_mm\""
    );
}
