//! The file of guide catheters: `[[guide]] fr = 6, inner_in = 0.071`.

use super::Guide;
use super::keys::BORE_IN;
use crate::intake::{self, FileFault, Table};
use crate::sources;
use crate::units::{French, Inches, same};

/// Guides of coronary work are 4 to 9 Fr; widened. Common practice, no source.
const FRENCH: [f64; 2] = [3.0, 12.0];

/// A file to begin with. Of a range the smallest bore is there: a device that does not pass it may yet pass the
/// room's own guide, and one that is said to pass does.
pub fn standard() -> String {
    sources::in_words(STANDARD)
}

const STANDARD: &str = "\
# Guide catheters and their inner diameters. A bore is not fixed by its French: put the bores that are printed on
# your own packs here, and take out what you do not have.
# 5 Fr: @jic-2003. 6 Fr: @guide-6fr. 7 and 8 Fr: the smallest of @guide-bores.
schema = 1
[[guide]]
fr = 5
inner_in = 0.058
[[guide]]
fr = 6
inner_in = 0.071
[[guide]]
fr = 7
inner_in = 0.078
[[guide]]
fr = 8
inner_in = 0.088
";

/// Reads the guides, in the order of the file. A bore that would not leave a wall is a fault.
pub(super) fn walk(file: &str, text: &str) -> (Option<Vec<Guide>>, Vec<FileFault>) {
    intake::walk(file, text, visit)
}

fn visit(table: &mut Table) -> Vec<Guide> {
    table.schema(false);
    let mut guides: Vec<Guide> = Vec::new();
    for mut row in table.tables("guide").unwrap_or_default() {
        let fr = row.number("fr", FRENCH, "Fr", true);
        let inner = row.number("inner_in", BORE_IN, "in", true);
        if let (Some(fr), Some(inner)) = (fr, inner) {
            let guide = Guide { french: French::new(fr), inner: Inches::new(inner) };
            let (bore, outside) = (guide.inner.diameter(), guide.french.diameter());
            if bore >= outside {
                let message =
                    format!("a bore of {bore} mm does not fit into {} ({outside} mm)", guide.french);
                row.fault("inner_in", message);
            }
            if guides.iter().any(|other| same(other.french.gauge(), fr)) {
                row.fault("fr", format!("{} is in this file already", guide.french));
            }
            guides.push(guide);
        }
        row.finish();
    }
    guides
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_file_to_begin_with_reads_back() {
        let guides = walk("guides.toml", &standard()).0.expect("it is free of faults");
        let rows: Vec<(f64, f64)> =
            guides.iter().map(|guide| (guide.french.gauge(), guide.inner.inches())).collect();
        assert_eq!(rows, [(5.0, 0.058), (6.0, 0.071), (7.0, 0.078), (8.0, 0.088)]);
    }
}
