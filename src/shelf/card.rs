//! What is brought for a call: which box, which lot first, where it lies, and what to bring if it is not there.

use super::Shelf;
use super::promise::answering;
use crate::case::finding;
use crate::case::readback::Context;
use crate::case::spoken::{alike, looks_alike, say};
use crate::case::{Call, Case, Item, label_words, size_letters, verdict_words};
use crate::catalogue::{Catalogue, Owner, Piece};
use crate::fit::Verdict;
use crate::journal::Recorded;
use crate::units::{Diameter, Length, counted, same};
use chrono::{Days, NaiveDate};

/// Everything that the person who fetches needs, for one call.
#[derive(Debug, Clone, PartialEq)]
pub struct FetchCard {
    /// The number of the call.
    pub call: u32,
    /// The size in the fewest letters, `3.00×29`; the catalogue number where there is no size.
    pub big: String,
    /// Places of characters in `big` that tell it from a size it could be taken for.
    pub marked: Vec<usize>,
    /// None where nothing in date answers the call, or earlier calls have it all.
    pub bring: Option<Bring>,
    /// Why it is not known whether there is something to bring; none where the shelf is known.
    pub unread: Option<String>,
    /// Earlier calls have taken all there is.
    pub taken_by_earlier: bool,
    /// What to bring if it is not there, best first.
    pub instead: Vec<String>,
    /// A balloon like this is open on the table already: the item.
    pub open_already: Option<u32>,
    /// The gravest first, each once.
    pub cautions: Vec<String>,
    /// The sentence to say back.
    pub say: String,
}

/// One piece to take.
#[derive(Debug, Clone, PartialEq)]
pub struct Bring {
    /// The row to take it from; it expires first of all that answer the call.
    pub piece: Piece,
    /// Catalogue id of its product.
    pub product: String,
    /// The product's name.
    pub name: String,
    /// Its catalogue number (REF).
    pub reference: String,
    /// Pieces of this box in date.
    pub pieces: u32,
}

/// Days within which a use-by date is pointed out. Common practice, no source.
const SOON: u64 = 30;
/// How many things to bring instead are named.
const MOST_INSTEAD: usize = 3;

impl Bring {
    /// `lot K7, use by 2027-02-28, ×3 there`.
    pub fn words(&self) -> String {
        let use_by = self.piece.use_by.map_or("no use-by date".into(), |day| format!("use by {day}"));
        let serial = self.piece.serial.as_ref().map_or(String::new(), |serial| format!(", SN {serial}"));
        format!("lot {}{serial}, {use_by}, ×{} there", self.piece.lot, self.pieces)
    }
}

impl FetchCard {
    /// Why there is nothing to bring.
    pub fn none_in_words(&self) -> String {
        if let Some(why) = &self.unread {
            why.clone()
        } else if self.taken_by_earlier {
            "NONE LEFT: earlier calls take the last ones".into()
        } else {
            "NONE ON THE SHELF in date".into()
        }
    }
}

impl Shelf {
    /// The card of one waiting call. Without a waiting call of this number there is nothing to bring.
    pub fn card(&self, call: &Call, case: &Case, catalogue: &Catalogue, today: NaiveDate) -> FetchCard {
        let promise =
            self.reserved(case, catalogue, today).into_iter().find(|promise| promise.call == call.number);
        let bring = promise.as_ref().and_then(|promise| {
            let (piece, found) = (promise.piece?, promise.found?);
            Some(Bring {
                piece: piece.clone(),
                product: found.product().id.clone(),
                name: found.product().name.clone(),
                reference: found.reference().to_string(),
                pieces: self.on_hand(found.di(), today),
            })
        });
        let last = promise.as_ref().is_some_and(|promise| promise.last);
        let big = big_of(call, catalogue);
        let (open_already, not_offered) = self.open_already(call, case, catalogue, today);
        let mut cautions = cautions(call, case, bring.as_ref(), last, open_already, today);
        cautions.splice(0..0, self.recalled_there(call, catalogue));
        cautions.splice(0..0, not_offered);
        FetchCard {
            call: call.number,
            unread: None,
            marked: marks(&big, call, case, catalogue),
            cautions,
            taken_by_earlier: promise.is_some_and(|promise| promise.taken_by_earlier),
            instead: self.instead(call, bring.as_ref(), catalogue, today),
            say: say(call, catalogue),
            open_already,
            bring,
            big,
        }
    }

    /// A balloon of the called size that is open and can go up again: the called product's own or, where no product was
    /// named, one of the called kind. A size alone may mean a stent. SideBySide it what speaks against others like it.
    fn open_already(
        &self,
        call: &Call,
        case: &Case,
        catalogue: &Catalogue,
        today: NaiveDate,
    ) -> (Option<u32>, Vec<String>) {
        let wanted = &call.wanted;
        let answers = |diameter: Option<Diameter>, length: Option<Length>| {
            let diameter_same = wanted.diameter.zip(diameter).is_some_and(|(a, b)| same(a.mm(), b.mm()));
            diameter_same && wanted.length.zip(length).is_some_and(|(a, b)| same(a.mm(), b.mm()))
        };
        let is_called = |item: &Item| match &wanted.product {
            Some(product) => item.label.product.as_ref() == Some(product),
            None => wanted.kind.is_some() && wanted.kind == item.label.kind,
        };
        let known = Context { catalogue, shelf: self, case: Some(case), today: today.into() };
        let mut not_offered = Vec::new();
        for item in case.open_balloons() {
            if !is_called(item) || !answers(item.label.diameter, item.label.length) {
                continue;
            }
            match finding::in_play(item, &known) {
                None => return (Some(item.number), not_offered),
                Some(back) => not_offered.push(format!(
                    "{}: {} (box {}), open on the table, is not offered",
                    back.finding,
                    label_words(&item.label),
                    item.number
                )),
            }
        }
        (None, not_offered)
    }

    /// Pieces that answer the call, are there and were recalled: the hand goes to the shelf, not to the list.
    fn recalled_there(&self, call: &Call, catalogue: &Catalogue) -> Option<String> {
        let boxes = answering(&call.wanted, catalogue);
        let is_one = |piece: &Piece| {
            let id = self.first_id(&piece.di);
            boxes.iter().any(|found| found.di().iter().any(|di| self.first_id(di) == id))
                && self.recalled(Some(&piece.di), &piece.lot)
        };
        let pieces = self.pieces();
        let mut lots: Vec<String> = pieces
            .iter()
            .filter(|piece| is_one(piece))
            .map(|piece| format!("lot {} at {}", piece.lot, piece.shelf))
            .collect();
        lots.dedup();
        (!lots.is_empty()).then(|| format!("RECALLED, not to be brought: {}", lots.join("; ")))
    }

    /// The same size of another product, then the next lengths up of the same diameter.
    fn instead(
        &self,
        call: &Call,
        bring: Option<&Bring>,
        catalogue: &Catalogue,
        today: NaiveDate,
    ) -> Vec<String> {
        let (Some(diameter), Some(length)) = (call.wanted.diameter, call.wanted.length) else {
            return Vec::new();
        };
        let kind = call
            .wanted
            .kind
            .or_else(|| answering(&call.wanted, catalogue).first().map(|found| found.product().kind));
        let mut list: Vec<(f64, bool, String)> = Vec::new();
        for product in
            catalogue.products.iter().filter(|product| kind.is_none_or(|kind| kind == product.kind))
        {
            for pack in product.platform(diameter).into_iter().flat_map(|platform| &platform.boxes) {
                let longer = pack.length.mm() - length.mm();
                let brought = bring
                    .is_some_and(|bring| bring.reference == pack.reference && bring.product == product.id);
                let Some(piece) = self.first_out(&pack.di, today).filter(|_| longer >= 0.0 && !brought)
                else {
                    continue;
                };
                let words = format!("{diameter} × {} {} at {}", pack.length, product.name, piece.shelf);
                let other = bring.is_some_and(|bring| bring.product != product.id);
                list.push((longer, other, words));
            }
        }
        list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then_with(|| a.2.cmp(&b.2)));
        list.into_iter().take(MOST_INSTEAD).map(|(_, _, words)| words).collect()
    }
}

fn big_of(call: &Call, catalogue: &Catalogue) -> String {
    match (call.wanted.diameter, call.wanted.length, &call.wanted.reference) {
        (Some(diameter), Some(length), _) => size_letters(diameter, length),
        (_, _, Some(reference)) => reference.clone(),
        _ => {
            let found = answering(&call.wanted, catalogue);
            found
                .first()
                .map_or_else(|| format!("CALL {}", call.number), |found| found.product().name.clone())
        }
    }
}

/// Marks what tells this size from the others that wait or lie unopened in the room.
fn marks(big: &str, call: &Call, case: &Case, catalogue: &Catalogue) -> Vec<usize> {
    let waiting = case.waiting_calls();
    let others =
        waiting.iter().filter(|other| other.number != call.number).map(|other| big_of(other, catalogue));
    let at_hand = case
        .at_hand()
        .into_iter()
        .filter_map(|item| Some(size_letters(item.label.diameter?, item.label.length?)));
    let mut marked: Vec<usize> = others
        .chain(at_hand)
        .filter(|other| looks_alike(big, other))
        .flat_map(|other| alike(big, &other))
        .collect();
    marked.sort_unstable();
    marked.dedup();
    marked
}

fn cautions(
    call: &Call,
    case: &Case,
    bring: Option<&Bring>,
    last: bool,
    open_already: Option<u32>,
    today: NaiveDate,
) -> Vec<String> {
    let mut cautions = Vec::new();
    if let Some(item) = open_already.and_then(|number| case.item(number)) {
        cautions.push(format!(
            "ALREADY OPEN on the table: {} (box {}); offered before a new one",
            label_words(&item.label),
            item.number
        ));
    }
    let fits_not = |verdict: &&Recorded<Verdict>| verdict.known().is_some_and(|verdict| !verdict.is_fit());
    if let Some(verdict) = call.verdict.as_ref().filter(fits_not) {
        let words = verdict_words(verdict, call.why.as_deref());
        cautions.push(format!("Called although the verdict was {words}"));
    }
    if last {
        cautions.push("LAST PIECE: say so; it is kept for this call".into());
    }
    if let Some(bring) = bring {
        let soon = today.checked_add_days(Days::new(SOON)).unwrap_or(NaiveDate::MAX);
        if let Some(day) = bring.piece.use_by.filter(|day| *day <= soon) {
            cautions.push(match (day - today).num_days() {
                ..=0 => "Expires today".into(),
                1 => "Expires tomorrow".into(),
                days => format!("Expires in {}", counted(days, "day")),
            });
        }
        match &bring.piece.owner {
            Owner::Own => {}
            Owner::Consigned => cautions.push("On consignment: paid for once it is opened".into()),
            Owner::Borrowed(from) => cautions.push(format!("Borrowed from {from}")),
        }
    }
    cautions
}
