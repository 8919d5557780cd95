//! The computer's date does not go with the journal's last day: somebody looks, and confirms it with a reason.

use crate::journal::Fact;
use crate::tui::model::{Effects, Field, Form, Outcome, Session, ask};
use chrono::NaiveDate;

pub fn ask_date(session: &mut Session) -> Effects {
    let Some(doubt) = session.world.date_in_doubt() else {
        return session.say("The computer's date goes with the journal: there is nothing to confirm");
    };
    let words = format!("Now {}.", doubt.in_words());
    let intro = [
        words.as_str(),
        "Where the computer is wrong, leave this and set its clock. Where it is right, type its date and why.",
    ];
    let fields = vec![
        Field::text("day", "the date today", "", "YYYY-MM-DD, from another clock"),
        Field::text("why", "why", "", "as: the room was closed; the clock had run ahead"),
    ];
    ask(Form::new("CHECK THE DATE", &intro, fields), accept_date)
}

fn accept_date(session: &mut Session, form: &Form) -> Outcome {
    let (text, why) = (form.value("day"), form.value("why"));
    let day: NaiveDate =
        text.parse().map_err(|_| format!("{text:?} is not a date: type it as 2027-02-28"))?;
    let clock = session.world.now.date_naive();
    if day != clock {
        return Err(format!("The computer says {clock}: set its clock, and nothing has to be confirmed"));
    }
    if why.is_empty() {
        return Err("Type why: it stands in the record".into());
    }
    Ok(session.write_for_room(vec![Fact::DateConfirmed { day, why }]))
}
