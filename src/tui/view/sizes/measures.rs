//! What was measured, and the fields in which it is typed.

use crate::lesion::Reading;
use crate::measure::Method;
use crate::tui::columns::padded;
use crate::tui::paint::{Hits, first_shown, put, put_line, put_lines, theme, wrapped};
use crate::tui::state::{Form, Input, Spot, State, sizes};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

pub(super) fn measures(state: &State, area: Rect, buffer: &mut Buffer) {
    let measured = &state.sizes.measured;
    let mut lines = vec![Line::styled(format!("Lesion {}", state.lesion), theme::TITLE)];
    let reading = |value: Option<Reading>| value.map(|value| value.to_string());
    let known = [
        ("method", measured.method.map(|method| method.label().to_string())),
        ("distal lumen", reading(measured.distal_lumen)),
        ("distal EEM", reading(measured.distal_eem)),
        ("proximal lumen", reading(measured.proximal_lumen)),
        ("proximal EEM", reading(measured.proximal_eem)),
        (measured.method.map_or("length", Method::length_field), measured.length.map(|l| l.to_string())),
        ("side branch", reading(measured.branch_lumen)),
        ("branch at", measured.branch_at.map(|at| at.to_string())),
        ("longest device", measured.limit.map(|l| l.to_string())),
        ("segment", measured.segment.clone()),
        ("guide", measured.guide.map(|guide| guide.to_string())),
        (
            "site",
            (!measured.sites.is_empty())
                .then(|| measured.sites.iter().map(|s| s.name()).collect::<Vec<_>>().join(" ")),
        ),
    ];
    for (name, value) in known {
        if let Some(value) = value {
            lines.push(Line::from(vec![
                Span::styled(format!("{name} "), theme::QUIET),
                Span::styled(value, theme::STRONG),
            ]));
        }
    }
    if lines.len() == 1 {
        lines.push(Line::styled("nothing measured:", theme::QUIET));
        lines.push(Line::styled("any size can be called", theme::QUIET));
        lines.push(Line::from(vec![
            Span::styled(state.key(sizes::MEASURE), theme::KEY),
            Span::styled(" types the measures", theme::QUIET),
        ]));
    }
    if let Some(lesion) = &state.sizes.lesion {
        let target = &lesion.target;
        let [least, most] = target.window;
        lines.push(Line::raw(""));
        lines.push(Line::styled(format!("In rule {}", target.rule.label()), theme::TITLE));
        lines.push(Line::raw(format!("labelled {least} to {most}")));
        lines.push(Line::raw(format!("length {}", lesion.target.length_in_words())));
        if let Some(wanted) = target.proximal_target {
            lines.push(Line::raw(format!("proximal wants {wanted}")));
        }
    }
    for fault in &state.sizes.faults {
        lines.extend(
            wrapped(&fault.message, area.width).into_iter().map(|text| Line::styled(text, theme::HEED)),
        );
    }
    put_lines(buffer, area, lines);
}

/// The measures while they are being typed.
pub(super) fn fields(form: &Form, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    put(buffer, area, 0, 0, &form.title, theme::TITLE);
    let room = usize::from(area.height.saturating_sub(1));
    let first = first_shown(form.cursor, form.fields.len(), room);
    for (index, field) in form.fields.iter().enumerate().skip(first).take(room) {
        let here = index == form.cursor;
        let mark = if field.fault.is_some() {
            "!"
        } else if here {
            "▸"
        } else {
            " "
        };
        let value = match &field.input {
            Input::AnyOf { choices, chosen } => {
                let names: Vec<&str> = choices
                    .iter()
                    .filter(|(letter, _)| chosen.contains(letter))
                    .map(|(_, name)| name.as_str())
                    .collect();
                names.join(" ")
            }
            _ => field.value(),
        };
        // The names are long in two places only; the value stands at one column all the same.
        let name: String = field.label.chars().take(14).collect();
        let row = u16::try_from(index - first + 1).unwrap_or(u16::MAX);
        let style = if here { theme::CURSOR } else { theme::STRONG };
        let shown = if here { padded(&value, 10) } else { value };
        hits.add_in_row(area, 0, row, area.width, Spot::Field(index));
        put_line(
            buffer,
            area,
            0,
            row,
            Line::from(vec![
                Span::styled(mark, theme::HEED),
                Span::styled(format!("{name:<14} "), if here { theme::PLAIN } else { theme::QUIET }),
                Span::styled(shown, style),
            ]),
        );
    }
}
