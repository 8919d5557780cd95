//! Which box of the case, and of which lesion.

use crate::case::readback;
use crate::journal::BoxRead;
use crate::tui::model::Session;

pub fn item_read(session: &Session, read: &BoxRead) -> u32 {
    let Some(case) = session.world.case.as_ref().filter(|case| case.signed.is_none()) else { return 1 };
    readback::known_item(read, Some(case)).unwrap_or_else(|| case.next_item_number())
}

pub fn lesion_of_call(session: &Session, call: Option<u32>) -> Option<u8> {
    let case = session.world.case.as_ref()?;
    let called = call.and_then(|number| case.calls.iter().find(|call| call.number == number));
    Some(called.and_then(|call| call.lesion).unwrap_or(session.lesion))
}
