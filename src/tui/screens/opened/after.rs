//! After deployment: the balloon for a wanted diameter, and the expansion that was reached.

use super::keys::{AGAIN, AREAS, BALLOON};
use crate::case::Item;
use crate::catalogue::Piece;
use crate::fit::balloon::{self, Ask, Balloon, Balloons};
use crate::fit::expansion::{self, Expansion, Measured};
use crate::journal::{Areas, Fact, Readiness, Wanted};
use crate::measure::Method;
use crate::tui::model::{Choice, Effects, Field, Form, Outcome, Screen, Session, ask, go, open};
use crate::units::{self, Area, Diameter, Length};

/// How many balloons are offered.
const OFFERED: usize = 6;

/// A balloon that was offered: one on the table already, or a box to be called.
#[derive(Debug, Clone, PartialEq)]
enum Offer {
    Open { item: u32 },
    Box(Wanted),
}

/// Asks which diameter is wanted inside this box's device, with what the lesion asks for filled in.
pub fn ask_balloon(session: &mut Session, item: u32) -> Effects {
    let Some((words, length)) = session.item(item).map(|item| (item.words(), item.label.length)) else {
        return Effects::new();
    };
    let target = session.work.lesion.as_ref().and_then(|lesion| lesion.target.proximal_target);
    let vessel =
        session.work.lesion.as_ref().and_then(|lesion| lesion.proximal_eem.or(lesion.proximal_lumen));
    let text = |diameter: Option<Diameter>| diameter.map(|d| units::plain(d.mm())).unwrap_or_default();
    // The proximal end is brought up in what is left of the device; the whole of it where no end was measured.
    let stretch = length.and_then(|length| match session.work.lesion.as_ref().zip(target) {
        Some((lesion, target)) => balloon::proximal_stretch(lesion, length, target),
        None => Some(balloon::stretch(length)),
    });
    let within = stretch.map(|stretch| units::plain(stretch.mm())).unwrap_or_default();
    let fields = vec![
        Field::text("to", "diameter wanted", text(target), "mm; the lesion's proximal target, if measured"),
        Field::text("vessel", "vessel there", text(vessel), "mm; it limits"),
        Field::text(
            "within",
            "stays within",
            within,
            "mm; 2 mm inside each end, or 1 mm inside the proximal one",
        ),
    ];
    let form = Form::new(format!("A balloon for {words}"), &[], fields).by(BALLOON);
    ask(form, move |session, form| accept_balloon(session, item, form))
}

fn accept_balloon(session: &mut Session, item: u32, form: &Form) -> Outcome {
    let read =
        |text: String| units::number(&text).ok_or_else(|| format!("{text:?} is not a number of millimetres"));
    let number = |id: &str| form.given(id).map(read).transpose();
    let to = number("to")?.ok_or("Type the diameter that is wanted")?;
    let within = number("within")?.ok_or("Type how long a balloon may be")?;
    let ask = Ask {
        to: Diameter::from_mm(to),
        within: Length::from_mm(within),
        expansion_limit: session.platform_of(item).and_then(|platform| platform.expansion_limit),
        vessel: number("vessel")?.map(Diameter::from_mm),
    };
    let world = &session.world;
    if let Some(why) = world.shelf.unread() {
        return Err(why);
    }
    let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
    let stock = Some((pieces.as_slice(), world.today()));
    let answer = balloon::choose(&world.catalogue, &[], &ask, &world.policy, stock)
        .map_err(|bad| bad.first().map(|bad| bad.message.clone()).unwrap_or_default())?;
    let offers = offers_of(session, &answer);
    if offers.is_empty() {
        let why = answer.cautions.first().map(|caution| caution.message.clone());
        return Err(why.unwrap_or_else(|| "No balloon on the shelf gives that within its chart".into()));
    }
    let answers = offers.iter().map(|(words, _)| words.clone()).collect();
    let title = format!("Balloons for {} mm, chart diameter in water", ask.to);
    let offers: Vec<Offer> = offers.into_iter().map(|(_, offer)| offer).collect();
    let chosen =
        move |session: &mut Session, answer: usize| balloon_chosen(session, offers.get(answer).cloned());
    Ok(open(Choice::new(BALLOON, title, answers, chosen).deciding()))
}

/// The open ones that serve first, then those on the shelf, best first.
fn offers_of(session: &Session, answer: &Balloons) -> Vec<(String, Offer)> {
    let open: Vec<&Item> = session.world.case.as_ref().map(|case| case.open_balloons()).unwrap_or_default();
    let known: Vec<(&Item, (&str, Diameter, Length))> = open
        .into_iter()
        .filter(|item| session.world.against_in_play(item).is_none())
        .filter_map(|item| {
            Some((item, (item.label.product.as_deref()?, item.label.diameter?, item.label.length?)))
        })
        .collect();
    let sizes: Vec<(&str, Diameter, Length)> = known.iter().map(|(_, size)| *size).collect();
    let mut offers: Vec<(String, Offer)> = answer
        .serving(&sizes)
        .into_iter()
        .map(|serves| {
            let item = known[serves.open].0.number;
            (format!("OPEN, box {item}: {}", balloon_words(session, serves.balloon)), Offer::Open { item })
        })
        .collect();
    for balloon in answer.balloons.iter().filter(|balloon| balloon.on_shelf.is_some_and(|pieces| pieces > 0))
    {
        let product = session.world.catalogue.product(&balloon.product);
        let wanted = Wanted {
            product: Some(balloon.product.clone()),
            diameter: Some(Diameter::from_mm(balloon.diameter_mm)),
            length: Some(Length::from_mm(balloon.length_mm)),
            kind: product.map(|product| product.kind),
            ..Wanted::default()
        };
        let pieces = balloon.on_shelf.unwrap_or(0);
        offers.push((format!("{} · ×{pieces}", balloon_words(session, balloon)), Offer::Box(wanted)));
    }
    offers.truncate(OFFERED);
    offers
}

/// As a box is named everywhere, with its pressure: `3.50 × 12 Furrow · 14.4 atm`.
fn balloon_words(session: &Session, balloon: &Balloon) -> String {
    let (diameter, length) = (Diameter::from_mm(balloon.diameter_mm), Length::from_mm(balloon.length_mm));
    let name = session.product_name(&balloon.product);
    let off = balloon.off_in_words().map(|off| format!(" · {off}")).unwrap_or_default();
    format!("{diameter} × {length} {name} · {} atm{off}", units::plain(balloon.atm))
}

fn balloon_chosen(session: &mut Session, offer: Option<Offer>) -> Effects {
    match offer {
        // Something may have come up against it while the question stood there.
        Some(Offer::Open { item }) if session.warns_of_device(item, AGAIN) => Vec::new(),
        Some(Offer::Open { item }) => {
            session.write_in_shown_case(vec![Fact::UsedAgain { item, lesion: session.lesion, call: None }])
        }
        Some(Offer::Box(wanted)) => go(Screen::Fetch, session.call(wanted, Readiness::Asked)),
        None => Vec::new(),
    }
}

/// Asks for the areas that were measured inside the device.
pub fn ask_areas(session: &mut Session, item: u32) -> Effects {
    let words = session.item(item).map(|item| item.words()).unwrap_or_default();
    let oct = session.work.measured.method == Some(Method::Oct);
    let segment = session.work.measured.segment.clone().unwrap_or_default();
    let fields = vec![
        Field::one_of("method", "measured by", vec!["IVUS".into(), "OCT".into()], usize::from(oct)),
        Field::text("msa", "minimal stent area", "", "mm²"),
        Field::text("distal", "distal reference lumen", "", "mm²"),
        Field::text("proximal", "proximal reference lumen", "", "mm²"),
        Field::text("segment", "segment", segment, "5 is the left main"),
    ];
    let form = Form::new(format!("Expansion of {words}"), &[], fields).by(AREAS);
    ask(form, move |session, form| accept_areas(session, item, form))
}

fn accept_areas(session: &mut Session, item: u32, form: &Form) -> Outcome {
    let area = |id: &str| {
        let text = form.value(id);
        units::number(&text).map(Area::from_mm2).ok_or_else(|| format!("{text:?} is not a number of mm²"))
    };
    let areas = Areas {
        msa_mm2: area("msa")?,
        proximal_mm2: area("proximal")?,
        distal_mm2: area("distal")?,
        method: if form.chosen("method") == 1 { Method::Oct } else { Method::Ivus },
        segment: form.given("segment"),
    };
    let size = session.item(item).map(|item| (item.label.diameter, item.label.length));
    expansion::judge(&measured(&areas, size.unwrap_or_default()), &session.world.policy.believed)
        .map_err(|bad| bad.first().map(|bad| bad.message.clone()).unwrap_or_default())?;
    Ok(session.write_in_shown_case(vec![Fact::AreasMeasured { item, areas }]))
}

/// What the areas of this box come to by the published criteria.
pub fn expansion(session: &Session, item: &Item) -> Option<Expansion> {
    let areas = &item.areas.last()?.areas;
    let size = (item.label.diameter, item.label.length);
    expansion::judge(&measured(areas, size), &session.world.policy.believed).ok()
}

/// `size` is the labelled one of the device.
fn measured(areas: &Areas, size: (Option<Diameter>, Option<Length>)) -> Measured {
    Measured {
        msa: areas.msa_mm2,
        proximal: areas.proximal_mm2,
        distal: areas.distal_mm2,
        method: areas.method,
        segment: areas.segment.clone(),
        at: None,
        device: size.0,
        stent_length: size.1,
        halves: [None; 2],
    }
}
