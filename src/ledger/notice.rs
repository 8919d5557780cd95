//! What a recall notice names, and whether a box is meant by it: yes, perhaps, or no.

use crate::catalogue::{Catalogue, Piece};
use crate::journal::{BoxRead, same_text};
use crate::label::{self, Settings};
use crate::shelf::recall::RecalledLot;
use crate::udi::DeviceId;
use chrono::{Datelike, NaiveDate};

/// A box is meant that answers every part that is given; a part that is not given asks for nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Notice {
    /// Any of these identifiers; empty: of any box.
    pub di: Vec<DeviceId>,
    /// Catalogue ids of the products that have them; empty where none is known.
    pub products: Vec<String>,
    /// Batch or lot number.
    pub lot: Option<String>,
    /// The first and the last serial number, both included.
    pub serials: Option<(String, String)>,
    /// The first and the last use-by date, both included.
    pub use_by: Option<(NaiveDate, NaiveDate)>,
}

/// Whether a box is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant {
    /// Every part that is asked for is the box's own.
    Yes,
    /// None is another, and at least one is not known for sure: why, in words.
    Perhaps(String),
    /// At least one is another.
    No,
}

/// What is known of a box that is held against a notice.
struct Marks<'a> {
    di: Option<&'a DeviceId>,
    product: Option<&'a str>,
    /// Empty: not known.
    lots: Vec<&'a str>,
    serials: Vec<&'a str>,
    use_by: Option<NaiveDate>,
}

impl Notice {
    /// A lot of any product.
    pub fn of_lot(lot: &str) -> Notice {
        Notice { lot: Some(lot.into()), ..Notice::default() }
    }

    /// A serial number of any product.
    pub fn of_serial(serial: &str) -> Notice {
        Notice { serials: Some((serial.into(), serial.into())), ..Notice::default() }
    }

    /// A box by one of its identifiers: by every other that the catalogue has for it too, and by those of its cartons.
    /// What was asked for comes first.
    pub fn of_box(di: &DeviceId, catalogue: &Catalogue) -> Notice {
        let mut all = di.levels();
        let found: Vec<_> = all.iter().filter_map(|di| catalogue.find(di)).collect();
        for other in found.iter().flat_map(|found| found.di()).flat_map(DeviceId::levels) {
            if !all.contains(&other) {
                all.push(other);
            }
        }
        let mut products: Vec<String> = found.iter().map(|found| found.product().id.clone()).collect();
        products.dedup();
        Notice { di: all, products, ..Notice::default() }
    }

    /// Recalled lots, each with every identifier that its box has in the catalogue, and those of its cartons.
    pub fn of_recalls<'a>(
        list: &'a [RecalledLot],
        catalogue: &'a Catalogue,
    ) -> impl Iterator<Item = Notice> + 'a {
        list.iter().map(|(di, lot)| {
            let of_box = di.as_ref().map(|di| Notice::of_box(di, catalogue)).unwrap_or_default();
            Notice { lot: Some(lot.clone()), ..of_box }
        })
    }

    /// Whether a box with this label is meant. `year`: when it was read, for the centuries of its dates.
    pub fn means(&self, label: &BoxRead, year: i32) -> Meant {
        let readings = doubtful(label, year);
        let of = |sure: &'_ Option<String>, id: &str| -> Vec<String> {
            match sure {
                Some(value) => vec![value.clone()],
                None => {
                    readings.iter().filter(|(own, _)| own == id).map(|(_, value)| value.clone()).collect()
                }
            }
        };
        let (lots, serials) = (of(&label.lot, "10"), of(&label.serial, "21"));
        self.judge(&Marks {
            di: label.di.as_ref(),
            product: label.product.as_deref(),
            lots: lots.iter().map(String::as_str).collect(),
            serials: serials.iter().map(String::as_str).collect(),
            use_by: label.use_by,
        })
    }

    /// Whether a row of the shelf is meant.
    pub fn means_piece(&self, piece: &Piece) -> Meant {
        self.judge(&Marks {
            di: Some(&piece.di),
            product: None,
            lots: Some(piece.lot.as_str()).filter(|lot| !lot.is_empty()).into_iter().collect(),
            serials: piece.serial.as_deref().into_iter().collect(),
            use_by: piece.use_by,
        })
    }

    fn judge(&self, marks: &Marks) -> Meant {
        let mut parts = Vec::new();
        if !self.di.is_empty() {
            parts.push(match marks.di {
                Some(di) if self.di.contains(di) => Meant::Yes,
                Some(_) => Meant::No,
                None => match marks.product {
                    Some(other)
                        if !self.products.is_empty() && !self.products.iter().any(|own| own == other) =>
                    {
                        Meant::No
                    }
                    _ => Meant::Perhaps("its identifier was not read".into()),
                },
            });
        }
        if let Some(lot) = &self.lot {
            parts.push(one_of(&marks.lots, "lot", |own| alike(own, lot, "lot")));
        }
        if let Some((first, last)) = &self.serials {
            let within = |own: &str| match same_text(first, last) {
                true => alike(own, first, "serial number"),
                false => between(own, first, last),
            };
            parts.push(one_of(&marks.serials, "serial number", within));
        }
        if let Some((first, last)) = self.use_by {
            parts.push(match marks.use_by {
                Some(day) if (first..=last).contains(&day) => Meant::Yes,
                Some(_) => Meant::No,
                None => Meant::Perhaps("its use-by date was not read".into()),
            });
        }
        if parts.is_empty() || parts.contains(&Meant::No) {
            return Meant::No;
        }
        let doubts: Vec<String> = parts
            .into_iter()
            .filter_map(|part| match part {
                Meant::Perhaps(why) => Some(why),
                Meant::Yes | Meant::No => None,
            })
            .collect();
        if doubts.is_empty() { Meant::Yes } else { Meant::Perhaps(doubts.join(", ")) }
    }
}

/// The best that one of several readings says; without any it is not known.
fn one_of(readings: &[&str], what: &str, judge: impl Fn(&str) -> Meant) -> Meant {
    let judged: Vec<Meant> = readings.iter().map(|own| judge(own)).collect();
    if judged.contains(&Meant::Yes) {
        return Meant::Yes;
    }
    if judged.is_empty() {
        return Meant::Perhaps(format!("its {what} was not read"));
    }
    judged.into_iter().find(|one| matches!(one, Meant::Perhaps(_))).unwrap_or(Meant::No)
}

/// A text that differs in nothing but what spreadsheets and hands change is asked about, never passed over.
fn alike(own: &str, wanted: &str, what: &str) -> Meant {
    if wanted.trim().is_empty() {
        return Meant::No;
    }
    if same_text(own, wanted) {
        return Meant::Yes;
    }
    if core(own) == core(wanted) {
        return Meant::Perhaps(format!("its {what} is {own}: compare it with {wanted}"));
    }
    Meant::No
}

/// Without leading zeros, blanks, marks between characters, and with look-alikes as one.
fn core(text: &str) -> String {
    let plain = text.trim().trim_start_matches('\'').to_uppercase();
    let kept = plain.chars().filter(|c| c.is_alphanumeric()).map(|c| match c {
        'O' => '0',
        'I' | 'L' => '1',
        'Z' => '2',
        'S' => '5',
        'B' => '8',
        other => other,
    });
    let kept: String = kept.collect();
    let core = kept.trim_start_matches('0');
    if core.is_empty() { kept } else { core.into() }
}

/// A serial number within a range: by its number where all three are a number behind the same letters, else by its
/// characters where all three are equally long. What can't be put in order is asked about.
fn between(own: &str, first: &str, last: &str) -> Meant {
    let [own_key, first_key, last_key] = [own, first, last].map(|text| text.trim().to_uppercase());
    let within = match (numbered(&own_key), numbered(&first_key), numbered(&last_key)) {
        (Some(own), Some(first), Some(last)) if first.0 == last.0 => {
            own.0 == first.0 && (first.1..=last.1).contains(&own.1)
        }
        _ if own_key.len() == first_key.len() && first_key.len() == last_key.len() => {
            (first_key..=last_key).contains(&own_key)
        }
        _ => return Meant::Perhaps(format!("its serial number is {own}: compare it with {first} to {last}")),
    };
    if within { Meant::Yes } else { Meant::No }
}

/// Letters, and the number behind them.
fn numbered(text: &str) -> Option<(&str, u128)> {
    let digits = text.bytes().rev().take_while(u8::is_ascii_digit).count();
    let (letters, number) = text.split_at(text.len() - digits);
    Some((letters, number.parse().ok()?))
}

/// Fields of every reading of a label with a lost separator, which was written down without them.
fn doubtful(label: &BoxRead, year: i32) -> Vec<(String, String)> {
    if label.lot.is_some() && label.serial.is_some() {
        return Vec::new();
    }
    let bytes = label.raw.as_ref().and_then(label::Raw::bytes);
    let read = bytes.and_then(|bytes| label::read(&bytes, &Settings::of_year(year)).ok());
    read.map(|read| read.readings.into_iter().flat_map(|reading| reading.fields).collect())
        .unwrap_or_default()
}

/// The year in which an entry was written.
pub(super) fn year(at: chrono::DateTime<chrono::FixedOffset>) -> i32 {
    at.year()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lot_that_differs_by_zeros_or_look_alikes_is_asked_about() {
        for (own, wanted) in [("0012", "12"), ("12", "0012"), ("LO1", "L01"), ("A-12", "A12"), ("L1", "LI")] {
            assert!(matches!(alike(own, wanted, "lot"), Meant::Perhaps(_)), "{own} {wanted}");
        }
        assert_eq!(alike(" l7", "L7 ", "lot"), Meant::Yes);
        assert_eq!(alike("L7", "L9", "lot"), Meant::No);
        assert_eq!(alike("", "", "lot"), Meant::No);
    }

    #[test]
    fn a_range_of_serial_numbers_counts_by_number_or_by_characters_or_asks() {
        for (own, first, last, expected) in [
            ("S9", "S8", "S10", Meant::Yes),
            ("S11", "S8", "S10", Meant::No),
            ("s008", "S8", "S10", Meant::Yes),
            ("T9", "S8", "S10", Meant::No),
            ("A1B", "A0B", "A2B", Meant::Yes),
            ("A3B", "A0B", "A2B", Meant::No),
        ] {
            assert_eq!(between(own, first, last), expected, "{own} in {first} to {last}");
        }
        assert!(matches!(between("A1", "B", "CCC"), Meant::Perhaps(_)));
    }
}
