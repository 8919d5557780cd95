//! `boxcall demo --plain`: a whole case through the same rooms as the screens, a line or two a step.
//!
//! Nothing is canned: the lesion is judged, the boxes are looked up, the labels are read back, and every step is
//! written into the room's journal, whose chain is checked at the end.

use super::out::{Out, Reader};
use crate::case::readback::{Context, ReadBack, Scan, read_back};
use crate::case::{Call, Case, label_words};
use crate::catalogue::{Inflate, Piece, Platform, Product};
use crate::fit::balloon::{Ask, choose, stretch};
use crate::fit::{self, JudgedSize, Judgement, Verdict};
use crate::journal::{BoxRead, CaseCode, Fact, Fate, Inflation, Readiness, Recorded, Unused, Wanted};
use crate::label::{self, Arrival, Raw, Settings};
use crate::lesion::{self, Lesion, Measurements, Reading};
use crate::measure::Method;
use crate::room::{Fault, Format, Room};
use crate::shelf::{FetchCard, Shelf, scan_of};
use crate::units::{Diameter, French, Length, Pressure, at_most, counted};
use chrono::{Datelike, NaiveDate};

const LESION: u8 = 1;
/// Seconds for which a balloon is said to be up.
const SECONDS: u32 = 20;

/// Walks the case and prints it; the record comes last.
pub(super) fn walk(room: Room, out: &mut Out) -> Result<(), Fault> {
    let code = room.spare_code()?;
    let mut walk = Walk { room, code, out };
    walk.begin()?;
    let (lesion, judgement) = walk.measure()?;
    let best = walk.call_stent(&lesion, &judgement)?;
    let wrong = walk.wrong_box(1)?;
    let stent = walk.bring_and_open(1)?;
    walk.deploy(stent, &best)?;
    walk.settle(stent, Fate::Implanted)?;
    walk.post_dilate(&lesion, &best)?;
    walk.expired_box()?;
    walk.dropped_box(&wrong)?;
    walk.end()
}

struct Walk<'o> {
    room: Room,
    code: CaseCode,
    out: &'o mut Out,
}

impl Walk<'_> {
    /// One step. Where the record is asked for as JSON, the steps go aside: standard output holds one answer.
    fn say(&mut self, step: &str, words: &str) -> Result<(), Fault> {
        let line = format!("{step:<9} {words}");
        if self.out.is_json() {
            self.out.aside(&line);
        } else {
            self.out.print(&line)?;
        }
        Ok(())
    }

    fn write(&mut self, facts: &[Fact]) -> Result<(), Fault> {
        self.room.write(Some(&self.code), facts).map(|_| ())
    }

    fn today(&self) -> NaiveDate {
        self.room.now().date_naive()
    }

    fn case(&self) -> Result<Case, Fault> {
        let entries = self.room.journal()?;
        let own = entries.iter().filter(|entry| entry.case.as_ref() == Some(&self.code));
        Case::fold(own).ok_or_else(|| missing("the case that has just begun is not in the journal"))
    }

    fn shelf(&self) -> Result<Shelf, Fault> {
        self.room.shelf()?.ok_or_else(|| missing("the demo room has no stock"))
    }

    fn stock(&self) -> Result<Vec<Piece>, Fault> {
        Ok(self.shelf()?.pieces().into_iter().cloned().collect())
    }

    fn begin(&mut self) -> Result<(), Fault> {
        self.write(&[Fact::CaseBegun])?;
        self.say("case", &format!("{} has begun: this code goes on the patient's record", self.code))
    }

    /// Step one: what was measured, what fits, and why.
    fn measure(&mut self) -> Result<(Lesion, Judgement), Fault> {
        let mm = |value| Some(Reading::One(Diameter::from_mm(value)));
        let measured = Measurements {
            method: Some(Method::Oct),
            distal_lumen: mm(2.8),
            distal_eem: mm(3.1),
            proximal_lumen: mm(3.3),
            proximal_eem: mm(3.6),
            length: Some(Length::from_mm(27.0)),
            guide: Some(French::new(6.0)),
            segment: Some("6".into()),
            ..Measurements::default()
        };
        let (catalogue, policy) = (self.room.catalogue.clone(), self.room.policy.clone());
        let lesion =
            lesion::check(&measured, &policy, &catalogue.guides).map_err(|bad| Fault::of_input(&bad))?;
        let stock = self.stock()?;
        let judgement = fit::judge(&catalogue, &policy.judged, &lesion, &policy, Some(&stock), self.today());
        self.write(&[Fact::LesionMeasured { lesion: LESION, measured }])?;
        let target = &lesion.target;
        self.say(
            "measured",
            "OCT, distal lumen 2.8 and EEM 3.1, proximal 3.3 and 3.6, landing zones 27 mm apart",
        )?;
        let window =
            format!("in rule {}: labelled {} to {}", target.rule, target.window[0], target.window[1]);
        self.say("", &format!("{window}, at least {}", target.length_in_words()))?;
        for size in judgement.ranked().into_iter().take(3) {
            let words = size.headline(&judgement, &catalogue, &lesion, &policy);
            self.say("fits", &format!("{} · {words}", self.size_words(size)))?;
        }
        Ok((lesion, judgement))
    }

    fn size_words(&self, size: &JudgedSize) -> String {
        let catalogue = &self.room.catalogue;
        let on_shelf = size.on_shelf.unwrap_or(0);
        format!(
            "{} × {} {}, ×{on_shelf} on the shelf",
            size.diameter,
            size.length,
            size.product(catalogue).name
        )
    }

    /// The best size that lies on the shelf is called.
    fn call_stent(&mut self, lesion: &Lesion, judgement: &Judgement) -> Result<JudgedSize, Fault> {
        let catalogue = self.room.catalogue.clone();
        let there = judgement.ranked().into_iter().find(|size| size.on_shelf.is_some_and(|count| count > 0));
        let best = *there.ok_or_else(|| missing("nothing on the demo shelf fits"))?;
        let why = best.headline(judgement, &catalogue, lesion, &self.room.policy);
        let wanted = wanted(best.product(&catalogue), best.diameter, best.length);
        self.call(wanted, Some((Recorded::Known(best.verdict), why)))?;
        Ok(best)
    }

    fn call(&mut self, wanted: Wanted, judged: Option<(Recorded<Verdict>, String)>) -> Result<(), Fault> {
        let call = self.case()?.next_call_number();
        let (verdict, why) = judged.unzip();
        let fact =
            Fact::Called { call, lesion: Some(LESION), wanted, readiness: Readiness::Asked, verdict, why };
        self.write(&[fact])?;
        let (card, called) = self.card(call)?;
        self.say("call", &format!("{call}: {}", called.words()))?;
        match &card.bring {
            Some(bring) => {
                let (box_of, place) = (format!("{} {}", bring.name, bring.reference), &bring.piece.shelf);
                self.say("fetch", &format!("{box_of} from {place}: {}", bring.words()))?;
            }
            None => self.say("fetch", &card.none_in_words())?,
        }
        for caution in &card.cautions {
            self.say("", caution)?;
        }
        self.say("say back", &format!("“{}”", card.say))
    }

    fn card(&self, number: u32) -> Result<(FetchCard, Call), Fault> {
        let case = self.case()?;
        let call = case.call(number).ok_or_else(|| missing("the call is not in the case"))?.clone();
        let card = self.shelf()?.card(&call, &case, &self.room.catalogue, self.today());
        Ok((card, call))
    }

    /// A label as a scanner sends it, read back against the calls that wait.
    fn scan(&mut self, piece: &Piece) -> Result<ReadBack, Fault> {
        let bytes = scan_of(piece);
        let settings = Settings { sends_separators: true, ..Settings::of_year(self.today().year()) };
        let scan = Scan {
            label: label::read(&bytes, &settings),
            raw: Raw::new(&bytes, Arrival::Scanned),
            complete: true,
        };
        let (case, shelf) = (self.case()?, self.shelf()?);
        let context = Context {
            catalogue: &self.room.catalogue,
            shelf: &shelf,
            case: Some(&case),
            today: self.today().into(),
        };
        let back = read_back(&scan, &context);
        let printed = back.read.printed.clone().unwrap_or_default();
        self.say("scan", &printed)?;
        self.say("", &format!("{} · {}", back.finding, label_words(&back.read)))?;
        for line in back.lines.iter().filter(|line| line.same == Some(false)) {
            let told = |side: &Option<String>| side.clone().unwrap_or_default();
            let (on_box, called) = (told(&line.on_box), told(&line.called));
            self.say("", &format!("{} DIFFERS: {on_box} on the box, {called}", line.field))?;
        }
        Ok(back)
    }

    fn put_back(&mut self, back: ReadBack) -> Result<(), Fault> {
        let item = self.case()?.next_item_number();
        let words = label_words(&back.read);
        self.write(&[Fact::BoxPutBack { item, label: back.read, finding: back.finding }])?;
        self.say("put back", &format!("unopened: {words}"))
    }

    /// A box that lies beside the one that the call asks for, and is another.
    fn wrong_box(&mut self, call: u32) -> Result<Piece, Fault> {
        let called = self.brought_for(call)?;
        let wrong = self.shelf()?.beside(&called, self.today()).cloned();
        let wrong = wrong.ok_or_else(|| missing("the demo shelf has no other box"))?;
        let back = self.scan(&wrong)?;
        self.put_back(back)?;
        Ok(wrong)
    }

    fn brought_for(&self, call: u32) -> Result<Piece, Fault> {
        let (card, _) = self.card(call)?;
        let bring = card.bring.ok_or_else(|| missing("nothing on the demo shelf answers the call"))?;
        Ok(bring.piece)
    }

    /// The box of a call is scanned, its printed size typed where this room asks for it, and opened.
    fn bring_and_open(&mut self, call: u32) -> Result<u32, Fault> {
        let piece = self.brought_for(call)?;
        let back = self.scan(&piece)?;
        self.open(back, Some(call))
    }

    fn open(&mut self, back: ReadBack, call: Option<u32>) -> Result<u32, Fault> {
        let item = self.case()?.next_item_number();
        let mut facts = Vec::new();
        if let (true, Some(di), Some(length)) =
            (back.needs_printed_size, back.read.di.clone(), back.read.length)
        {
            facts.push(Fact::PrintedSizeTyped { di, diameter: back.read.diameter, length, agrees: true });
            let read = label_words(&back.read);
            self.say(
                "by eye",
                &format!("the printed size is read aloud and typed once for this identifier: {read}"),
            )?;
        }
        let label: BoxRead = back.read;
        let words = label_words(&label);
        let lesion = Some(LESION);
        facts.push(Fact::BoxOpened {
            item,
            call,
            lesion,
            label,
            finding: back.finding,
            reason: None,
            minutes_ago: None,
        });
        self.write(&facts)?;
        self.say("opened", &format!("box {item}: {words}"))?;
        Ok(item)
    }

    /// The delivery balloon goes up to what the judgement gave, else to nominal.
    fn deploy(&mut self, item: u32, size: &JudgedSize) -> Result<(), Fault> {
        let catalogue = self.room.catalogue.clone();
        let platform = size.platform(&catalogue);
        match size.deploy.or(platform.nominal()) {
            Some(pressure) => self.inflate(item, platform, Pressure::from_atm(pressure.atm().ceil())),
            None => self.say("inflated", &format!("box {item}: no pressure is known; {}", platform.marks())),
        }
    }

    fn inflate(&mut self, item: u32, platform: &Platform, pressure: Pressure) -> Result<(), Fault> {
        // The whole atmosphere above may lie past rated burst; then it stays at rated burst.
        let burst = platform.rated_burst();
        let pressure = burst.filter(|burst| !at_most(pressure.atm(), burst.atm())).unwrap_or(pressure);
        let chart_mm = Inflate::at(platform, pressure).diameter_mm.map(Diameter::from_mm);
        let inflation = Inflation {
            at_atm: pressure,
            seconds: Some(SECONDS),
            chart_mm,
            rated_burst_atm: burst,
            lesion: Some(LESION),
        };
        self.write(&[Fact::Inflated { item, inflation }])?;
        let chart = chart_mm.map_or("no chart".to_string(), |mm| format!("chart diameter {mm} in water"));
        let limits = platform.marks();
        self.say("inflated", &format!("box {item} to {pressure} atm for {SECONDS} s: {chart} ({limits})"))
    }

    fn settle(&mut self, item: u32, fate: Fate) -> Result<(), Fault> {
        self.write(&[Fact::FateGiven { item, fate, lesion: Some(LESION) }])?;
        let case = self.case()?;
        let words = case.item(item).map(|item| item.fate_in_words()).unwrap_or_default();
        self.say("fate", &format!("box {item}: {words}"))
    }

    /// A non-compliant balloon for the proximal part: the best by the charts of which a piece is on the shelf.
    fn post_dilate(&mut self, lesion: &Lesion, stent: &JudgedSize) -> Result<(), Fault> {
        let Some(to) = lesion.target.proximal_target else { return Ok(()) };
        let (catalogue, stock) = (self.room.catalogue.clone(), self.stock()?);
        let ask = Ask { to, within: stretch(stent.length), expansion_limit: None, vessel: None };
        let choice = choose(&catalogue, &[], &ask, &self.room.policy, Some((&stock, self.today())))
            .map_err(|bad| Fault::of_input(&bad))?;
        let best = choice.balloons.iter().find(|balloon| balloon.on_shelf.is_some_and(|count| count > 0));
        let chosen = best.and_then(|balloon| {
            let product = catalogue.product(&balloon.product)?;
            Some((balloon, product, product.platform(Diameter::from_mm(balloon.diameter_mm))?))
        });
        let Some((balloon, product, platform)) = chosen else {
            return self.say("balloon", &format!("no balloon on the shelf reaches {to} within its chart"));
        };
        let pressure = Pressure::from_atm(balloon.atm.ceil());
        self.say("balloon", &format!("proximal target {to}: {pressure} atm by its chart"))?;
        self.call(wanted(product, platform.diameter, Length::from_mm(balloon.length_mm)), None)?;
        let call = self.case()?.calls.last().map_or(0, |call| call.number);
        let item = self.bring_and_open(call)?;
        self.inflate(item, platform, pressure)?;
        self.settle(item, Fate::Used)
    }

    /// A box past its date is scanned: it stops, and goes back.
    fn expired_box(&mut self) -> Result<(), Fault> {
        let (today, shelf) = (self.today(), self.shelf()?);
        let piece = shelf.expired(today).first().map(|piece| Piece::clone(piece));
        let piece = piece.ok_or_else(|| missing("the demo shelf has nothing expired"))?;
        let back = self.scan(&piece)?;
        self.put_back(back)
    }

    /// A box is opened without a call and dropped: it is written down like any other.
    fn dropped_box(&mut self, piece: &Piece) -> Result<(), Fault> {
        let back = self.scan(piece)?;
        let item = self.open(back, None)?;
        self.settle(item, Fate::OpenedNotUsed { why: Unused::Dropped })
    }

    fn end(&mut self) -> Result<(), Fault> {
        let case = self.case()?;
        self.say("totals", &case.totals().words())?;
        let unsettled = u32::try_from(case.unsettled().len()).unwrap_or(u32::MAX);
        self.write(&[Fact::SignedOff { unsettled, why: None }])?;
        self.say("signed", &format!("case {}, {unsettled} unsettled", self.code))?;
        let place = self.room.write_record(&self.code)?;
        let found = self.room.check();
        let entries = found.entries.ok_or_else(|| missing(&found.to_string()))?;
        self.say("journal", &format!("{}, the chain holds", counted(entries, "entry")))?;
        self.say("record", &format!("{}\n", place.display()))?;
        let format = if self.out.is_json() { Format::Json } else { Format::Markdown };
        let record = self.room.export(Some(&self.code), format)?;
        self.out.words(Reader::OfDocument, &record).map(|_| ())
    }
}

fn wanted(product: &Product, diameter: Diameter, length: Length) -> Wanted {
    Wanted {
        product: Some(product.id.clone()),
        name: Some(product.name.clone()),
        diameter: Some(diameter),
        length: Some(length),
        kind: Some(product.kind),
        reference: None,
    }
}

/// The demo is the program's own: what it lacks is a fault of ours, said plainly.
fn missing(what: &str) -> Fault {
    Fault::could_not("demo", format!("the demo case stops: {what}"))
}
