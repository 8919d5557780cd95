//! Questions that a component asks: fields to fill, answers to choose from. What becomes of the answer is said where it
//! is asked.

use super::form::{Form, Input};
use super::session::{Canvas, Component, Effects, List, Session, close, open};
use crate::label::Arrival;
use crate::tui::columns::{ending, padded_at_least};
use crate::tui::keys::*;
use crate::tui::paint::{Hits, Spot, framed, middle, put_lines, theme, wrapped};
use ratatui::prelude::*;
use std::fmt;
use std::sync::Arc;

// Fields that are being typed into.
place! {
    FIELDS: "While typing into fields", Text, within EVERYWHERE;
    NEXT = needed("form-next", ["Tab"]) => "next", "the next field";
    PREVIOUS = new("form-previous", ["Shift+Tab"]) => "", "the field before";
    DOWN => "", "the next field";
    UP => "", "the field before";
    LEFT => "", "the choice before";
    RIGHT => "", "the next choice";
    ERASE => "", "take back the last character";
    ACCEPT => "done", "take what stands in the fields";
    CLOSE => "back", "leave without it; nothing is written";
}

/// The answers of a question, by their number.
pub const ANSWERS: [Action; 9] = [
    Action::new("choice-1", &["1"]),
    Action::new("choice-2", &["2"]),
    Action::new("choice-3", &["3"]),
    Action::new("choice-4", &["4"]),
    Action::new("choice-5", &["5"]),
    Action::new("choice-6", &["6"]),
    Action::new("choice-7", &["7"]),
    Action::new("choice-8", &["8"]),
    Action::new("choice-9", &["9"]),
];

/// A question with numbered answers.
pub static CHOICE: Place = Place::new(
    "While choosing",
    Letters::Own,
    &[
        DOWN.row("", "the next answer"),
        UP.row("", "the answer before"),
        ACCEPT.row("take", "take the answer under the cursor"),
        ANSWERS[0].row("", "the first answer"),
        ANSWERS[1].row("", "the second answer"),
        ANSWERS[2].row("", "the third answer"),
        ANSWERS[3].row("", "the fourth answer"),
        ANSWERS[4].row("", "the fifth answer"),
        ANSWERS[5].row("", "the sixth answer"),
        ANSWERS[6].row("", "the seventh answer"),
        ANSWERS[7].row("", "the eighth answer"),
        ANSWERS[8].row("", "the ninth answer"),
        CLOSE.row("back", "no answer; nothing is written"),
    ],
)
.within(&EVERYWHERE);

/// What a form says when it is accepted: what to do, or why it can't be taken.
pub type Outcome = Result<Effects, String>;

type Accept = Arc<dyn Fn(&mut Session, &Form) -> Outcome + Send + Sync>;
type Edited = Arc<dyn Fn(&mut Session, &mut Form) + Send + Sync>;
type Chosen = Arc<dyn Fn(&mut Session, usize) -> Effects + Send + Sync>;

/// A form in front, and what becomes of it.
#[derive(Clone)]
pub struct Question {
    form: Form,
    accept: Accept,
    /// What is shown beside the fields follows while somebody types.
    edited: Edited,
    /// It is closed without an answer.
    abandoned: fn(&mut Session),
}

impl fmt::Debug for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.form.fmt(f)
    }
}

/// Asks for these fields.
pub fn ask(form: Form, accept: impl Fn(&mut Session, &Form) -> Outcome + Send + Sync + 'static) -> Effects {
    open(Question::new(form, accept))
}

impl Question {
    pub fn new(form: Form, accept: impl Fn(&mut Session, &Form) -> Outcome + Send + Sync + 'static) -> Self {
        Question { form, accept: Arc::new(accept), edited: Arc::new(|_, _| {}), abandoned: |_| {} }
    }

    /// The same, where something follows what is typed.
    pub fn editing(self, edited: impl Fn(&mut Session, &mut Form) + Send + Sync + 'static) -> Self {
        Question { edited: Arc::new(edited), ..self }
    }

    /// The same, where something has to be put back when nothing is answered.
    pub fn abandoning(self, abandoned: fn(&mut Session)) -> Self {
        Question { abandoned, ..self }
    }

    fn edit(&mut self, session: &mut Session, edit: impl FnOnce(&mut Form)) -> Effects {
        edit(&mut self.form);
        (self.edited)(session, &mut self.form);
        Effects::new()
    }
}

impl Component for Question {
    fn place(&self, _: &Session) -> &'static Place {
        &FIELDS
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        match action {
            NEXT => self.edit(session, |form| form.step(true)),
            PREVIOUS => self.edit(session, |form| form.step(false)),
            LEFT => self.edit(session, |form| form.turn(false)),
            RIGHT => self.edit(session, |form| form.turn(true)),
            ERASE => self.edit(session, Form::erase),
            ACCEPT => match (self.accept)(session, &self.form) {
                // The answer may put another question in its place.
                Ok(effects) => close(effects),
                Err(why) => {
                    self.form.refused = Some(why);
                    Effects::new()
                }
            },
            _ => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.form.cursor, self.form.fields.len()).round())
    }

    fn decides(&self, _: &Session, action: Action) -> bool {
        action == ACCEPT && self.form.decides()
    }

    fn typed(&mut self, session: &mut Session, c: char) -> Effects {
        self.edit(session, |form| form.type_char(c))
    }

    fn clicked(&mut self, _: &mut Session, spot: Spot) {
        if let Spot::Field(field) = spot {
            self.form.cursor = field.min(self.form.fields.len().saturating_sub(1));
        }
    }

    fn abandoned(&mut self, session: &mut Session) {
        (self.abandoned)(session);
    }

    /// What is pasted while a path is typed belongs to the path: it is no label.
    fn scanned(&mut self, _: &Session, bytes: &[u8], _: bool, arrival: Arrival) -> bool {
        let typed = arrival == Arrival::Pasted && self.form.is_of_a_path();
        if typed {
            String::from_utf8_lossy(bytes).trim().chars().for_each(|c| self.form.type_char(c));
        }
        typed
    }

    fn form(&self) -> Option<&Form> {
        Some(&self.form)
    }

    fn draw(&self, _: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        fields(&self.form, area, buffer, hits);
    }
}

/// A question with numbered answers.
#[derive(Clone)]
pub struct Choice {
    title: String,
    answers: Vec<String>,
    cursor: usize,
    asked_by: Action,
    decides: bool,
    chosen: Chosen,
}

impl fmt::Debug for Choice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {:?}", self.title, self.answers)
    }
}

impl Choice {
    pub fn new(
        asked_by: Action,
        title: impl Into<String>,
        answers: Vec<String>,
        chosen: impl Fn(&mut Session, usize) -> Effects + Send + Sync + 'static,
    ) -> Self {
        Choice { title: title.into(), answers, cursor: 0, asked_by, decides: false, chosen: Arc::new(chosen) }
    }

    /// The answer decides about a box.
    pub fn deciding(self) -> Self {
        Choice { decides: true, ..self }
    }
}

impl Component for Choice {
    fn place(&self, _: &Session) -> &'static Place {
        &CHOICE
    }

    fn act(&mut self, session: &mut Session, action: Action) -> Effects {
        let by_number = ANSWERS.iter().position(|answer| *answer == action);
        let taken = by_number.or((action == ACCEPT).then_some(self.cursor));
        match taken.filter(|taken| *taken < self.answers.len()) {
            Some(taken) => close((self.chosen)(session, taken)),
            None => Effects::new(),
        }
    }

    fn list<'a>(&'a mut self, _: &'a mut Session) -> Option<List<'a>> {
        Some(List::new(&mut self.cursor, self.answers.len()))
    }

    fn decides(&self, _: &Session, action: Action) -> bool {
        self.decides && (action == ACCEPT || ANSWERS.contains(&action))
    }

    fn asked_by(&self) -> Option<Action> {
        Some(self.asked_by)
    }

    fn draw(&self, _: &Session, Canvas { area, buffer, hits, .. }: Canvas) {
        answers(self, area, buffer, hits);
    }
}

/// Columns of a field's name with the spaces beside it.
const LABEL: u16 = 22;

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
    lines.extend(refused.into_iter().map(|text| Line::styled(format!(" ! {text}"), theme::WARNING)));
    put_lines(buffer, inside, lines);
}

fn answers(choice: &Choice, area: Rect, buffer: &mut Buffer, hits: &mut Hits) {
    let high = u16::try_from(choice.answers.len() + 2).unwrap_or(u16::MAX);
    let inside = framed(buffer, middle(area, 60, high), &choice.title);
    hits.add_rows(inside, 0, ANSWERS.iter().take(choice.answers.len()).map(|action| Spot::Key(*action)));
    let lines = choice.answers.iter().enumerate().map(|(index, answer)| {
        let here = index == choice.cursor;
        Line::from(vec![
            Span::styled(format!(" {} ", index + 1), theme::KEY),
            Span::styled(padded_at_least(answer, 40), if here { theme::CURSOR } else { theme::PLAIN }),
        ])
    });
    put_lines(buffer, inside, lines);
}
