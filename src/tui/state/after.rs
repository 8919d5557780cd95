//! After deployment: the balloon for a wanted diameter, and the expansion that was reached.

use super::ask::Outcome;
use super::{Choice, Effects, Field, Form, Overlay, Purpose, State, opened};
use crate::case::Item;
use crate::catalogue::Piece;
use crate::fit::balloon::{self, Ask, Balloon, Balloons};
use crate::fit::carina::Carina;
use crate::fit::expansion::{self, Expansion, Measured};
use crate::journal::{Areas, Fact, Readiness, Wanted};
use crate::measure::Method;
use crate::units::{self, Area, Diameter, Length};

/// How many balloons are offered.
const OFFERED: usize = 6;

/// A balloon that was offered: one on the table already, or a box to be called.
#[derive(Debug, Clone, PartialEq)]
pub enum Offer {
    Open { item: u32 },
    Box(Wanted),
}

impl State {
    /// Asks which diameter is wanted inside this box's device, with what the lesion asks for filled in.
    pub(super) fn ask_balloon(&mut self, item: u32) -> Effects {
        let Some((words, length)) = self.item(item).map(|item| (item.words(), item.label.length)) else {
            return Effects::new();
        };
        let target = self.sizes.lesion.as_ref().and_then(|lesion| lesion.target.proximal_target);
        let vessel =
            self.sizes.lesion.as_ref().and_then(|lesion| lesion.proximal_eem.or(lesion.proximal_lumen));
        let text = |diameter: Option<Diameter>| diameter.map(|d| units::plain(d.mm())).unwrap_or_default();
        // Proximal optimisation: from the carina to the proximal edge, where a side branch leaves the lesion.
        let carina = self
            .sizes
            .lesion
            .as_ref()
            .and_then(|l| Carina::of(l, &self.world.policy.believed).ok().flatten());
        let stretch = length.map(|length| {
            let whole = balloon::stretch(length);
            carina
                .and_then(|carina| carina.proximal_stretch(length))
                .filter(|part| part.mm() < whole.mm())
                .unwrap_or(whole)
        });
        let within = stretch.map(|stretch| units::plain(stretch.mm())).unwrap_or_default();
        let fields = vec![
            Field::text(
                "to",
                "diameter wanted",
                text(target),
                "mm; the lesion's proximal target, if measured",
            ),
            Field::text("vessel", "vessel there", text(vessel), "mm; it limits"),
            Field::text("within", "stays within", within, "mm; the device less 2 mm at each end"),
        ];
        self.ask(Form::new(Purpose::Balloon { item }, format!("A balloon for {words}"), &[], fields))
    }

    pub(super) fn accept_balloon(&mut self, item: u32, form: &Form) -> Outcome {
        let number = |id: &str| -> Result<Option<f64>, String> {
            match form.value(id) {
                text if text.is_empty() => Ok(None),
                text => units::number(&text)
                    .map(Some)
                    .ok_or_else(|| format!("{text:?} is no number of millimetres")),
            }
        };
        let to = number("to")?.ok_or("Type the diameter that is wanted")?;
        let within = number("within")?.ok_or("Type how long a balloon may be")?;
        let ask = Ask {
            to: Diameter::from_mm(to),
            within: Length::from_mm(within),
            expansion_limit: self.platform_of(item).and_then(|platform| platform.expansion_limit),
            vessel: number("vessel")?.map(Diameter::from_mm),
        };
        let world = &self.world;
        if let Some(why) = world.shelf.unread() {
            return Err(why);
        }
        let pieces: Vec<Piece> = world.shelf.pieces().into_iter().cloned().collect();
        let stock = Some((pieces.as_slice(), world.today()));
        let answer = balloon::choose(&world.catalogue, &[], &ask, &world.policy.believed, stock)
            .map_err(|bad| bad.first().map(|bad| bad.message.clone()).unwrap_or_default())?;
        let offers = self.offers_of(&answer);
        if offers.is_empty() {
            let why = answer.cautions.first().map(|caution| caution.message.clone());
            return Err(why.unwrap_or_else(|| "No balloon on the shelf gives that within its chart".into()));
        }
        let answers = offers.iter().map(|(words, _)| words.clone()).collect();
        let title = format!("Balloons for {} mm, chart diameter in water", ask.to);
        self.opened.balloons = offers.into_iter().map(|(_, offer)| offer).collect();
        Ok(self.open(Overlay::Choice(Choice::new(Purpose::OfferedBalloon, title, answers))))
    }

    /// The open ones that serve first, then those on the shelf, best first.
    fn offers_of(&self, answer: &Balloons) -> Vec<(String, Offer)> {
        let open: Vec<&Item> = self.world.case.as_ref().map(|case| case.open_balloons()).unwrap_or_default();
        let known: Vec<(&Item, (&str, Diameter, Length))> = open
            .into_iter()
            .filter(|item| self.world.against_in_play(item).is_none())
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
                (format!("OPEN, box {item}: {}", self.balloon_words(serves.balloon)), Offer::Open { item })
            })
            .collect();
        for balloon in
            answer.balloons.iter().filter(|balloon| balloon.on_shelf.is_some_and(|pieces| pieces > 0))
        {
            let product = self.world.catalogue.product(&balloon.product);
            let wanted = Wanted {
                product: Some(balloon.product.clone()),
                diameter: Some(Diameter::from_mm(balloon.diameter_mm)),
                length: Some(Length::from_mm(balloon.length_mm)),
                kind: product.map(|product| product.kind),
                ..Wanted::default()
            };
            let pieces = balloon.on_shelf.unwrap_or(0);
            offers.push((format!("{} · ×{pieces}", self.balloon_words(balloon)), Offer::Box(wanted)));
        }
        offers.truncate(OFFERED);
        offers
    }

    /// As a box is named everywhere, with its pressure: `3.50 × 12 Furrow · 14.4 atm`.
    fn balloon_words(&self, balloon: &Balloon) -> String {
        let (diameter, length) = (Diameter::from_mm(balloon.diameter_mm), Length::from_mm(balloon.length_mm));
        let name = self.product_name(&balloon.product);
        format!("{diameter} × {length} {name} · {} atm", units::plain(balloon.atm))
    }

    pub(super) fn balloon_chosen(&mut self, answer: usize) -> Effects {
        match self.opened.balloons.get(answer).cloned() {
            // Something may have come up against it while the question stood there.
            Some(Offer::Open { item }) if self.warns_of_device(item, opened::AGAIN) => Vec::new(),
            Some(Offer::Open { item }) => {
                self.write_in_shown_case(vec![Fact::UsedAgain { item, lesion: self.lesion, call: None }])
            }
            Some(Offer::Box(wanted)) => {
                self.screen = super::Screen::Fetch;
                self.call(wanted, Readiness::Asked)
            }
            None => Vec::new(),
        }
    }

    /// Asks for the areas that were measured inside the device.
    pub(super) fn ask_areas(&mut self, item: u32) -> Effects {
        let words = self.item(item).map(|item| item.words()).unwrap_or_default();
        let oct = self.sizes.measured.method == Some(Method::Oct);
        let segment = self.sizes.measured.segment.clone().unwrap_or_default();
        let fields = vec![
            Field::one_of("method", "measured by", vec!["IVUS".into(), "OCT".into()], usize::from(oct)),
            Field::text("msa", "minimal stent area", "", "mm²"),
            Field::text("distal", "distal reference lumen", "", "mm²"),
            Field::text("proximal", "proximal reference lumen", "", "mm²"),
            Field::text("segment", "segment", segment, "5 is the left main"),
        ];
        self.ask(Form::new(Purpose::Areas { item }, format!("Expansion of {words}"), &[], fields))
    }

    pub(super) fn accept_areas(&mut self, item: u32, form: &Form) -> Outcome {
        let area = |id: &str| {
            let text = form.value(id);
            units::number(&text).map(Area::from_mm2).ok_or_else(|| format!("{text:?} is no number of mm²"))
        };
        let areas = Areas {
            msa_mm2: area("msa")?,
            proximal_mm2: area("proximal")?,
            distal_mm2: area("distal")?,
            method: if form.chosen("method") == 1 { Method::Oct } else { Method::Ivus },
            segment: Some(form.value("segment")).filter(|text| !text.is_empty()),
        };
        let device = self.item(item).and_then(|item| item.label.diameter);
        expansion::judge(&measured(&areas, device), &self.world.policy.believed)
            .map_err(|bad| bad.first().map(|bad| bad.message.clone()).unwrap_or_default())?;
        Ok(self.write_in_shown_case(vec![Fact::AreasMeasured { item, areas }]))
    }

    /// What the areas of the box under the cursor come to by the published criteria.
    pub fn expansion_shown(&self) -> Option<Expansion> {
        let item = self.item_shown()?;
        let areas = &item.areas.last()?.areas;
        expansion::judge(&measured(areas, item.label.diameter), &self.world.policy.believed).ok()
    }
}

fn measured(areas: &Areas, device: Option<Diameter>) -> Measured {
    Measured {
        msa: areas.msa_mm2,
        proximal: areas.proximal_mm2,
        distal: areas.distal_mm2,
        method: areas.method,
        segment: areas.segment.clone(),
        device,
    }
}
