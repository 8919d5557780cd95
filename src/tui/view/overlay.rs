//! What lies over a screen: fields, answers, the list that is found, the code of a new case.

use super::{arithmetic, first, plans};
use crate::deference::LONG;
use crate::tui::columns::{ending, padded, padded_at_least};
use crate::tui::keys::{ACCEPT, HELP, LEAVE, OPEN_MENU, PRACTISE, PRACTISE_WRONG, UNDO};
use crate::tui::paint::{
    Hits, big, columns, first_shown, framed, middle, put, put_line, put_lines, rows, theme, wrapped,
};
use crate::tui::state::{Choice, Finding, Form, Input, Overlay, Spot, State, ask, menu, sizes, unsaved};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

/// Columns of a field's name with the spaces beside it.
const LABEL: u16 = 22;

pub fn draw(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    // The measures are typed in their own pane, so that the grid stays in sight.
    let Some(overlay) = state.overlay.as_ref().filter(|overlay| !overlay.measures()) else { return };
    // What takes the keys takes the clicks as well.
    hits.add(area, Spot::Covered);
    match overlay {
        Overlay::Form(form) => fields(form, area, buffer, hits),
        Overlay::Choice(choice) => answers(choice, area, buffer, hits),
        Overlay::Plans(offered) => plans::draw(state, offered, area, buffer, hits),
        Overlay::Arithmetic(text) => arithmetic::draw(text, area, buffer),
        Overlay::Find(finding) => found(finding, area, buffer, hits),
        Overlay::Menu => menu(state, area, buffer, hits),
        Overlay::CaseCode(code) => case_code(code.as_str(), area, buffer),
        Overlay::Welcome => welcome(state, area, buffer),
        Overlay::Unsaved => unsaved(state, area, buffer),
        Overlay::Sheet(sheet) => first::sheet(state, sheet, area, buffer),
        Overlay::Trial(trial) => first::trial(state, trial, area, buffer),
    }
}

fn fields(form: &Form, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let width = 76;
    let intro: Vec<String> = form.intro.iter().flat_map(|text| wrapped(text, width - 4)).collect();
    let refused: Vec<String> = form.refused.iter().flat_map(|text| wrapped(text, width - 4)).collect();
    let high = 2 + intro.len() + form.fields.len() + refused.len().max(1) + 1;
    let inside = framed(buffer, middle(area, width, u16::try_from(high).unwrap_or(u16::MAX)), &form.title);
    let mut lines: Vec<Line> =
        intro.into_iter().map(|text| Line::styled(format!(" {text}"), theme::QUIET)).collect();
    let first = u16::try_from(lines.len()).unwrap_or(u16::MAX);
    hits.add_rows(inside, first, (0..form.fields.len()).map(Spot::Field));
    for (index, field) in form.fields.iter().enumerate() {
        let here = index == form.cursor;
        let value = match &field.input {
            Input::Text(text) => text.clone(),
            _ => field.value(),
        };
        // What is said beside it gives way to a long text.
        let value = ending(&value, inside.width.saturating_sub(LABEL + 2));
        let shown = if here { format!(" {value}▏") } else { format!(" {value} ") };
        lines.push(Line::from(vec![
            Span::styled(format!(" {:>20} ", field.label), if here { theme::STRONG } else { theme::QUIET }),
            Span::styled(padded_at_least(&shown, 18), if here { theme::CURSOR } else { theme::PLAIN }),
            Span::styled(format!(" {}", field.hint), theme::QUIET),
        ]));
    }
    lines.extend(refused.into_iter().map(|text| Line::styled(format!(" ! {text}"), theme::HEED)));
    put_lines(buffer, inside, lines);
}

fn answers(choice: &Choice, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let high = u16::try_from(choice.answers.len() + 2).unwrap_or(u16::MAX);
    let inside = framed(buffer, middle(area, 60, high), &choice.title);
    hits.add_rows(inside, 0, ask::ANSWERS.iter().take(choice.answers.len()).map(|action| Spot::Key(*action)));
    let lines = choice.answers.iter().enumerate().map(|(index, answer)| {
        let here = index == choice.cursor;
        Line::from(vec![
            Span::styled(format!(" {} ", index + 1), theme::KEY),
            Span::styled(padded_at_least(answer, 40), if here { theme::CURSOR } else { theme::PLAIN }),
        ])
    });
    put_lines(buffer, inside, lines);
}

fn found(finding: &Finding, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let inside = framed(buffer, middle(area, 76, 16), "Find: product, REF, size or lot, spelt loosely");
    put_line(
        buffer,
        inside,
        1,
        0,
        Line::from(vec![
            Span::styled("/ ", theme::KEY),
            Span::styled(
                format!("{}▏", ending(&finding.query, inside.width.saturating_sub(4))),
                theme::STRONG,
            ),
        ]),
    );
    let list = rows(inside, 1, inside.height);
    let room = usize::from(list.height);
    let first = first_shown(finding.cursor, finding.found.len(), room);
    let lines = finding.found.iter().enumerate().skip(first).take(room).map(|(place, known)| {
        let style = if place == finding.cursor { theme::CURSOR } else { theme::PLAIN };
        Line::styled(format!(" {}", padded(&known.words, 70)), style)
    });
    hits.add_rows(list, 0, (first..finding.found.len()).map(Spot::Row));
    if put_lines(buffer, list, lines) == 0 {
        put(buffer, list, 1, 0, "nothing is spelt like that", theme::QUIET);
    }
}

/// Why the disk refuses, what to do, and each entry that waits.
fn unsaved(state: &State, area: Rect, buffer: &mut Buffer) {
    let key = |action| state.key(action);
    let inside = framed(buffer, middle(area, 78, 18), "NOT SAVED");
    let width = inside.width.saturating_sub(2);
    let why = wrapped(&state.unsaved.why, width).into_iter().map(|text| Line::styled(text, theme::HEED));
    let what = format!(
        "Work goes on: what waits is saved by itself as soon as it can be. {} tries now, {} writes it to a file \
         on another disk. Ended before, it is lost.",
        key(unsaved::AGAIN),
        key(unsaved::FILE)
    );
    let what = wrapped(&what, width).into_iter().map(Line::raw);
    let head: Vec<Line> = why.chain(what).collect();
    let used = put_lines(buffer, columns(inside, 1, width), head) + 1;
    let list = rows(columns(inside, 1, width), used, inside.height.saturating_sub(used));
    let words = state.waiting_words().into_iter().skip(state.unsaved.scroll);
    let words = words.flat_map(|words| wrapped(&format!("NOT SAVED {words}"), width));
    put_lines(buffer, list, words.map(Line::raw));
}

fn menu(state: &State, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let entries = menu::PLACE.rows;
    let high = u16::try_from(entries.len() + 2).unwrap_or(u16::MAX);
    let widest = entries.iter().map(|row| Span::raw(row.doc).width()).max().unwrap_or(0);
    let wide = u16::try_from(widest + 8).unwrap_or(u16::MAX);
    let inside = framed(buffer, middle(area, wide, high), "Go to");
    hits.add_rows(inside, 0, entries.iter().map(|row| Spot::Key(row.action)));
    let lines = entries.iter().map(|row| {
        Line::from(vec![
            Span::styled(format!(" {:<4}", state.key(row.action)), theme::KEY),
            Span::raw(row.doc),
        ])
    });
    put_lines(buffer, inside, lines);
}

fn case_code(code: &str, area: Rect, buffer: &mut Buffer) {
    let spaced: String = code.chars().flat_map(|c| [c, ' ']).collect();
    let inside = framed(buffer, middle(area, 72, 13), "A case has begun");
    big::draw(buffer, rows(columns(inside, 4, inside.width), 1, 8), spaced.trim_end(), theme::STRONG, &[]);
    put(
        buffer,
        inside,
        2,
        9,
        "Write this code on the patient's record: nothing else ties the two.",
        theme::PLAIN,
    );
    put(
        buffer,
        inside,
        2,
        10,
        "No name, date of birth or number of a person is asked for or kept.",
        theme::QUIET,
    );
}

fn welcome(state: &State, area: Rect, buffer: &mut Buffer) {
    let key = |action| state.key(action);
    let inside = framed(buffer, middle(area, 76, 17), "boxcall: the demo room");
    let text = [
        (format!("{}  THE TOUR: a whole case in about three minutes.", key(ACCEPT)), theme::STRONG),
        ("       Two lines say what to do next; what you do is the real thing.".into(), theme::PLAIN),
        (String::new(), theme::PLAIN),
        (
            format!(
                "Any other key: look around alone; {} and then {} take the tour up.",
                key(OPEN_MENU),
                key(menu::TOUR)
            ),
            theme::PLAIN,
        ),
        (
            format!("  {}  type what was measured; arrows show why a size fits", key(sizes::MEASURE)),
            theme::PLAIN,
        ),
        (format!("  3 29 and {}  call a size, measured or not", key(ACCEPT)), theme::PLAIN),
        (
            format!(
                "  {}  no scanner? this scans the box that was called; {} a wrong one",
                key(PRACTISE),
                key(PRACTISE_WRONG)
            ),
            theme::PLAIN,
        ),
        (
            format!(
                "  {} undoes the last thing written. {} has every key. {} leaves.",
                key(UNDO),
                key(HELP),
                key(LEAVE)
            ),
            theme::PLAIN,
        ),
        (String::new(), theme::PLAIN),
        ("Devices and stock are invented; everything else is real.".into(), theme::PLAIN),
    ];
    let decides = wrapped(LONG, inside.width.saturating_sub(2)).into_iter().map(|text| (text, theme::QUIET));
    let lines = text.into_iter().chain(decides).map(|(text, style)| Line::styled(format!(" {text}"), style));
    put_lines(buffer, inside, lines);
}
