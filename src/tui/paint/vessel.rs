//! The measured vessel to scale, distal on the left: wall, lumen, what has to be covered, and the devices that are
//! chosen. Nothing is drawn where nothing was measured: the narrowing itself has no depth here.

#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "columns of a line")]

use super::text::{columns, cut, put, put_line, rows};
use super::theme;
use crate::fit::placed_device::{PlacedDevice, overlaps, past_the_need};
use crate::lesion::Lesion;
use crate::measure::Border;
use crate::units::{Figure, Length, plain};
use ratatui::prelude::*;

/// Fewer rows show nothing of a vessel; more only make it larger.
pub const LEAST_ROWS: u16 = 9;
pub const MOST_ROWS: u16 = 18;
/// So many devices have a row of their own.
const DEVICES: usize = 6;
/// The least rows of the picture itself.
const PICTURE: u16 = 3;

/// What is seen at one half of a row.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Seen {
    Nothing,
    Wall,
    Metal,
    /// Two devices over each other.
    Doubled,
}

/// Millimetres along the vessel, as columns of the screen.
struct Scale {
    from: f64,
    mm_a_column: f64,
}

/// The vessel, the devices in it, and whose choice those are.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn<'a> {
    pub lesion: &'a Lesion,
    /// Distal first.
    pub devices: Vec<PlacedDevice>,
    /// What is drawn, in words; empty where there is only the vessel.
    pub whose: String,
}

pub fn draw(drawn: &Drawn, area: Rect, buffer: &mut Buffer) {
    let area = area.intersection(buffer.area);
    if area.width < 20 || area.height < LEAST_ROWS {
        return;
    }
    let shared = overlaps(&drawn.devices);
    let listed = drawn.devices.len().min(DEVICES);
    let foot = 3 + u16::try_from(listed).unwrap_or(0) + u16::from(!shared.is_empty());
    let high = area.height.saturating_sub(1 + foot).max(PICTURE);
    let scale = Scale::of(drawn, area.width);
    title(drawn, area, buffer);
    let across = picture(drawn, &scale, rows(area, 1, high), buffer);
    let mut y = 1 + high;
    ruler(drawn.lesion, &scale, rows(area, y, 1), buffer);
    y += 1;
    for device in drawn.devices.iter().take(DEVICES) {
        bar(drawn, device, &scale, rows(area, y, 1), buffer);
        y += 1;
    }
    if !shared.is_empty() {
        overlapped(&shared, &scale, rows(area, y, 1), buffer);
        y += 1;
    }
    put(buffer, area, 0, y, &cut(&measured(drawn.lesion), usize::from(area.width)), theme::PLAIN);
    let across = match scale.mm_a_column / across {
        same if same < 1.25 => "the same across".to_string(),
        little if little < 2.0 => format!("{:.1} times as large across", Figure(little)),
        much => format!("{much:.0} times as large across"),
    };
    let words = format!("a column is {:.1} mm along, {across}", Figure(scale.mm_a_column));
    put(buffer, area, 0, y + 1, &cut(&words, usize::from(area.width)), theme::QUIET);
}

impl Scale {
    /// From the first thing that is drawn to the last.
    fn of(drawn: &Drawn, width: u16) -> Self {
        let need = drawn.lesion.target.length_min.mm();
        let from = drawn.devices.iter().map(|device| device.begins.mm()).fold(0.0, f64::min);
        let to = drawn.devices.iter().map(|device| device.ends.mm()).fold(need, f64::max);
        Scale { from, mm_a_column: (to - from).max(1.0) / f64::from(width.max(1)) }
    }

    /// The edge between two columns that lies nearest to this place.
    fn column(&self, at: Length) -> u16 {
        // From 0 to the width: what is drawn lies within the scale.
        ((at.mm() - self.from) / self.mm_a_column).round().clamp(0.0, f64::from(u16::MAX)) as u16
    }

    /// The place in the middle of a column.
    fn place(&self, column: u16) -> Length {
        Length::from_mm(self.from + (f64::from(column) + 0.5) * self.mm_a_column)
    }
}

fn title(drawn: &Drawn, area: Rect, buffer: &mut Buffer) {
    let mut spans = vec![Span::styled("The vessel, distal on the left", theme::TITLE)];
    if !drawn.whose.is_empty() {
        spans.push(Span::styled(format!(" · {}", drawn.whose), theme::QUIET));
    }
    put_line(buffer, area, 0, 0, Line::from(spans));
}

/// The vessel cut along its middle; returns the millimetres of half a row.
fn picture(drawn: &Drawn, scale: &Scale, area: Rect, buffer: &mut Buffer) -> f64 {
    let lesion = drawn.lesion;
    let borders = [Border::Lumen, Border::Eem].into_iter().flat_map(|border| lesion.ends_of(border));
    let largest = borders
        .flatten()
        .chain(drawn.devices.iter().map(|device| device.diameter))
        .map(|diameter| diameter.mm())
        .fold(0.5, f64::max);
    let halves = f64::from(area.height) * 2.0;
    let half_row = largest / (halves - 1.0);
    for column in 0..area.width {
        let at = scale.place(column);
        let radius = |border| lesion.reference_at(border, at).map(|diameter| diameter.mm() / 2.0);
        let (lumen, eem) = (radius(Border::Lumen), radius(Border::Eem));
        let metal: Vec<f64> = drawn
            .devices
            .iter()
            .filter(|device| device.begins.mm() <= at.mm() && at.mm() < device.ends.mm())
            .map(|device| device.diameter.mm() / 2.0)
            .collect();
        let seen = |half: u16| {
            let off = (f64::from(half) + 0.5 - halves / 2.0).abs() * half_row;
            // A border is drawn in the half row that it ends in.
            let edge = |radius: f64| radius - half_row < off && off <= radius;
            let through = metal.iter().filter(|radius| edge(**radius)).count();
            let wall = match (lumen, eem) {
                (Some(lumen), Some(eem)) => lumen - half_row / 2.0 < off && off <= eem,
                (Some(only), None) | (None, Some(only)) => edge(only),
                (None, None) => false,
            };
            match through {
                0 if wall => Seen::Wall,
                0 => Seen::Nothing,
                _ if metal.len() > 1 => Seen::Doubled,
                _ => Seen::Metal,
            }
        };
        for row in 0..area.height {
            let (glyph, style) = half_and_half(seen(row * 2), seen(row * 2 + 1));
            if glyph != " " {
                put(buffer, columns(area, column, 1), 0, row, glyph, style);
            }
        }
    }
    half_row
}

/// One character for the upper and the lower half of a row. Metal is what is looked for.
const fn half_and_half(upper: Seen, lower: Seen) -> (&'static str, ratatui::style::Style) {
    use Seen::{Doubled, Metal, Nothing, Wall};
    match (upper, lower) {
        (Doubled, _) | (_, Doubled) => ("▒", theme::STRONG),
        (Metal, Metal) => ("█", theme::GOOD),
        (Metal, _) => ("▀", theme::GOOD),
        (_, Metal) => ("▄", theme::GOOD),
        (Wall, _) | (_, Wall) => ("░", theme::QUIET),
        (Nothing, Nothing) => (" ", theme::PLAIN),
    }
}

/// What has to be covered, and where a side branch leaves.
fn ruler(lesion: &Lesion, scale: &Scale, area: Rect, buffer: &mut Buffer) {
    let target = &lesion.target;
    let [from, to] = [Length::from_mm(0.0), target.length_min].map(|at| scale.column(at));
    let wide = usize::from(to.saturating_sub(from));
    if wide < 2 {
        return;
    }
    put(buffer, area, from, 0, &format!("├{}┤", "─".repeat(wide - 2)), theme::KEY);
    let words = format!(" {} {} ", lesion.method.length_field(), target.length_in_words());
    let room = wide.saturating_sub(4);
    let words = cut(&words, room);
    let long = u16::try_from(Span::raw(&words).width()).unwrap_or(u16::MAX);
    let centred = from + u16::try_from(wide).unwrap_or(0).saturating_sub(long) / 2;
    let branch = lesion.branches.at.first().map(|at| scale.column(*at));
    // The words stand beside the branch, not upon it.
    let left = match branch {
        Some(at) if (centred..centred + long).contains(&at) && at + 1 + long < to => at + 1,
        Some(at) if (centred..centred + long).contains(&at) => at.saturating_sub(long).max(from + 1),
        _ => centred,
    };
    put(buffer, area, left, 0, &words, theme::KEY);
    if let Some(at) = branch {
        put(buffer, area, at, 0, "┴", theme::WARNING);
    }
}

/// A device as a bar under the stretch that it covers, with its size beside or upon it.
fn bar(drawn: &Drawn, device: &PlacedDevice, scale: &Scale, area: Rect, buffer: &mut Buffer) {
    let (from, to) = (scale.column(device.begins), scale.column(device.ends));
    let wide = to.saturating_sub(from).max(1);
    put(buffer, area, from, 0, &"━".repeat(usize::from(wide)), theme::GOOD);
    let past = past_the_need(std::slice::from_ref(device), &drawn.lesion.target);
    let past = past.map(|mm| format!(", {} mm past the need", plain(mm.mm()))).unwrap_or_default();
    let size = format!(" {} × {} {}", device.diameter, device.length(), device.name);
    let words = format!("{}{past} ", size.trim_end());
    let long = u16::try_from(Span::raw(&words).width()).unwrap_or(u16::MAX);
    let left = if to.saturating_add(long) <= area.width {
        to
    } else if long <= from {
        from - long
    } else {
        from + 1
    };
    put(buffer, area, left, 0, &words, theme::STRONG);
}

fn overlapped(shared: &[[Length; 2]], scale: &Scale, area: Rect, buffer: &mut Buffer) {
    let mut free = 0;
    for [from, to] in shared {
        let (left, right) = (scale.column(*from), scale.column(*to));
        let wide = right.saturating_sub(left).max(1);
        put(buffer, area, left, 0, &"▒".repeat(usize::from(wide)), theme::STRONG);
        let words = format!("overlap {} mm ", plain(to.mm() - from.mm()));
        let long = u16::try_from(words.len()).unwrap_or(u16::MAX);
        // Before it, where nothing else stands; else behind.
        let at = if left >= free + long { left - long } else { left + wide + 1 };
        put(buffer, area, at, 0, &words, theme::PLAIN);
        free = at.max(left + wide) + if at > left { long } else { 0 };
    }
}

/// `side branch 2.50 at 7 mm`, with as much of it as was measured; from the distal end of what has to be covered.
fn branches(lesion: &Lesion) -> Option<String> {
    let places: Vec<String> = lesion.branches.at.iter().map(|at| plain(at.mm())).collect();
    let lumen = lesion.branches.lumen.map(|lumen| format!(" {lumen}"));
    let at = (!places.is_empty()).then(|| format!(" at {} mm", places.join(", ")));
    (lumen.is_some() || at.is_some())
        .then(|| format!("side branch{}{}", lumen.unwrap_or_default(), at.unwrap_or_default()))
}

/// The measures, distal to proximal.
fn measured(lesion: &Lesion) -> String {
    let of = |name: &str, border| match lesion.ends_of(border) {
        [Some(distal), Some(proximal)] => Some(format!("{name} {distal} to {proximal}")),
        [Some(distal), None] => Some(format!("{name} {distal} distal")),
        [None, Some(proximal)] => Some(format!("{name} {proximal} proximal")),
        [None, None] => None,
    };
    let told = [of("EEM", Border::Eem), of("lumen", Border::Lumen), branches(lesion)];
    told.into_iter().flatten().collect::<Vec<_>>().join(" · ")
}
