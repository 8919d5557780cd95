//! `boxcall` without a command: the screens, on a room that is laid on first use.

use super::out::Outcome;
use super::products::room_dir;
use crate::deference::LONG;
use crate::room::{Fault, Room};
use crate::tui::view::Background;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::Path;

pub(super) fn run(room: Option<&Path>, background: Option<Background>) -> Result<Outcome, Fault> {
    let dir = room_dir(room)?;
    let there = Room::is_there(&dir);
    let somebody = io::stdin().is_terminal() && io::stdout().is_terminal();
    if !there && !somebody {
        // Nobody is there to be asked, and the demo is never laid in silence.
        return Room::open(&dir).map(|_| Outcome::Answered);
    }
    let room = if there { Some(Room::open(&dir)?) } else { ask(&dir)? };
    if let Some(room) = room {
        crate::tui::run(room, background)?;
    }
    Ok(Outcome::Answered)
}

/// Asks what to lay; none where nothing is wanted.
fn ask(dir: &Path) -> Result<Option<Room>, Fault> {
    let failed = |error: io::Error| Fault::terminal(format!("the terminal can't be used: {error}"));
    let question = format!(
        "There is no room in {} yet. What is to be laid there?\n\
         \n  e  an empty room for your own products: first steps lead through it\
         \n  d  the demo room, with invented products, to look around\
         \n  q  nothing\n\n\
         (boxcall demo shows the demo room and leaves nothing behind.)\n\n{LONG}\n\n",
        dir.display()
    );
    let (mut stdout, mut stdin) = (io::stdout().lock(), io::stdin().lock());
    stdout.write_all(question.as_bytes()).map_err(failed)?;
    loop {
        stdout.write_all(b"e, d or q: ").and_then(|()| stdout.flush()).map_err(failed)?;
        let mut answer = String::new();
        let read = stdin.read_line(&mut answer).map_err(failed)?;
        match answer.trim().to_lowercase().as_str() {
            "e" => return Room::lay_empty(dir).map(Some),
            "d" => return Room::lay_demo(dir).map(Some),
            "q" => return Ok(None),
            _ if read == 0 => return Ok(None),
            _ => {}
        }
    }
}
