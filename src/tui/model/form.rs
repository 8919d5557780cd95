//! Fields that are typed into: one mechanism for every form of every screen.

use crate::tui::keys::Action;
use crate::units::{self, Diameter, Length, counted};

/// Fields to be filled.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    pub title: String,
    /// A line or two above the fields.
    pub intro: Vec<String>,
    pub fields: Vec<Field>,
    pub cursor: usize,
    /// Why it was not taken; shown until the next key.
    pub refused: Option<String>,
    asked_by: Option<Action>,
    decides: bool,
    survives: bool,
    in_pane: bool,
    longest: usize,
}

/// One line of a form.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    pub id: &'static str,
    pub label: String,
    pub input: Input,
    /// What is said beside it: a unit, an example, what it comes to.
    pub hint: String,
    /// What is wrong with it.
    pub fault: Option<String>,
}

/// How a field is filled.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    Text(String),
    /// One of these; ← and → change it, and so does the first letter of an answer.
    OneOf {
        choices: Vec<String>,
        chosen: usize,
    },
    /// Any of these; each letter turns its own on and off.
    AnyOf {
        choices: Vec<(char, String)>,
        chosen: Vec<char>,
    },
}

/// Longest text a field takes, in characters: a stuck key does no harm.
const LONGEST: usize = 120;

/// Longest path that a field takes: what Linux itself takes (PATH_MAX of limits.h, bytes, from memory).
const LONGEST_PATH: usize = 4096;

impl Field {
    pub fn text(
        id: &'static str,
        label: impl Into<String>,
        value: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Field { id, label: label.into(), input: Input::Text(value.into()), hint: hint.into(), fault: None }
    }

    pub fn one_of(id: &'static str, label: impl Into<String>, choices: Vec<String>, chosen: usize) -> Self {
        Field {
            id,
            label: label.into(),
            input: Input::OneOf { choices, chosen },
            hint: String::new(),
            fault: None,
        }
    }

    /// What stands in it, as text.
    pub fn value(&self) -> String {
        match &self.input {
            Input::Text(text) => text.trim().to_string(),
            Input::OneOf { choices, chosen } => choices.get(*chosen).cloned().unwrap_or_default(),
            Input::AnyOf { chosen, .. } => chosen.iter().collect(),
        }
    }
}

impl Form {
    pub fn new(title: impl Into<String>, intro: &[&str], fields: Vec<Field>) -> Self {
        Form {
            title: title.into(),
            intro: intro.iter().map(|line| line.to_string()).collect(),
            fields,
            cursor: 0,
            refused: None,
            asked_by: None,
            decides: false,
            survives: false,
            in_pane: false,
            longest: LONGEST,
        }
    }

    /// The action that asks this.
    pub fn by(self, action: Action) -> Self {
        Form { asked_by: Some(action), ..self }
    }

    pub fn asked_by(&self) -> Option<Action> {
        self.asked_by
    }

    /// The answer decides about a box, or signs.
    pub fn deciding(self) -> Self {
        Form { decides: true, ..self }
    }

    pub fn decides(&self) -> bool {
        self.decides
    }

    /// Kept when a scan takes the screen, and brought back with it.
    pub fn surviving(self) -> Self {
        Form { survives: true, ..self }
    }

    pub fn survives(&self) -> bool {
        self.survives
    }

    /// A path is typed.
    pub fn of_a_path(self) -> Self {
        Form { longest: LONGEST_PATH, ..self }
    }

    pub fn is_of_a_path(&self) -> bool {
        self.longest == LONGEST_PATH
    }

    /// Drawn by the screen in a pane of its own, so that the rest stays in sight.
    pub fn in_pane(self) -> Self {
        Form { in_pane: true, ..self }
    }

    pub fn is_in_pane(&self) -> bool {
        self.in_pane
    }

    pub fn field_mut(&mut self, id: &str) -> Option<&mut Field> {
        self.fields.iter_mut().find(|field| field.id == id)
    }

    /// What stands in the field of this name; empty where the form has none.
    pub fn value(&self, id: &str) -> String {
        self.fields.iter().find(|field| field.id == id).map(Field::value).unwrap_or_default()
    }

    /// The same; none where nothing is typed.
    pub fn given(&self, id: &str) -> Option<String> {
        Some(self.value(id)).filter(|text| !text.is_empty())
    }

    /// The same, which has to be typed.
    ///
    /// # Errors
    /// `missing`, where nothing is.
    pub fn required(&self, id: &str, missing: &str) -> Result<String, String> {
        self.given(id).ok_or_else(|| missing.to_string())
    }

    /// A size that is typed, as `3.0x29`; none where nothing is.
    ///
    /// # Errors
    /// It is not one.
    pub fn size(&self, id: &str) -> Result<Option<(Diameter, Length)>, String> {
        let read = |text: String| {
            units::size(&text).ok_or_else(|| format!("{text:?}: type diameter and length, as 3.0x29"))
        };
        self.given(id).map(read).transpose()
    }

    /// Which answer of a choice field is taken.
    pub fn chosen(&self, id: &str) -> usize {
        match self.fields.iter().find(|field| field.id == id).map(|field| &field.input) {
            Some(Input::OneOf { chosen, .. }) => *chosen,
            _ => 0,
        }
    }

    pub fn step(&mut self, forward: bool) {
        let count = self.fields.len().max(1);
        self.cursor = if forward { (self.cursor + 1) % count } else { (self.cursor + count - 1) % count };
    }

    pub fn turn(&mut self, forward: bool) {
        if let Some(Input::OneOf { choices, chosen }) =
            self.fields.get_mut(self.cursor).map(|field| &mut field.input)
        {
            let count = choices.len().max(1);
            *chosen = if forward { (*chosen + 1) % count } else { (*chosen + count - 1) % count };
        }
    }

    /// A character that is no part of a text is left out; one that has no more room is refused in words.
    pub fn type_char(&mut self, c: char) {
        self.refused = None;
        let longest = self.longest;
        match self.fields.get_mut(self.cursor).map(|field| &mut field.input) {
            Some(Input::Text(_)) if c.is_control() => {}
            Some(Input::Text(text)) if text.chars().count() < longest => text.push(c),
            Some(Input::Text(_)) => {
                self.refused = Some(format!(
                    "{} is all that it takes: the rest is left out",
                    counted(longest, "character")
                ));
            }
            Some(Input::OneOf { choices, chosen }) => {
                let starts = |choice: &String| choice.to_lowercase().starts_with(c.to_ascii_lowercase());
                let mut after =
                    choices.iter().enumerate().skip(*chosen + 1).chain(choices.iter().enumerate());
                if let Some((index, _)) = after.find(|(_, choice)| starts(choice)) {
                    *chosen = index;
                } else if c == ' ' {
                    self.turn(true);
                }
            }
            Some(Input::AnyOf { choices, chosen }) => {
                let c = c.to_ascii_lowercase();
                if let Some(place) = chosen.iter().position(|&other| other == c) {
                    chosen.remove(place);
                } else if choices.iter().any(|(letter, _)| *letter == c) {
                    chosen.push(c);
                }
            }
            _ => {}
        }
    }

    pub fn erase(&mut self) {
        self.refused = None;
        match self.fields.get_mut(self.cursor).map(|field| &mut field.input) {
            Some(Input::Text(text)) => {
                text.pop();
            }
            Some(Input::AnyOf { chosen, .. }) => {
                chosen.pop();
            }
            _ => {}
        }
    }
}

impl Input {
    /// The letters that are turned on.
    pub fn letters(&self) -> &[char] {
        match self {
            Input::AnyOf { chosen, .. } => chosen,
            _ => &[],
        }
    }
}
