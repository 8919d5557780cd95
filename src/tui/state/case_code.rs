//! The code of a case that has just begun.

use super::{Effects, Front, Passing};
use crate::tui::keys::{Letters, Place};

static PLACE: Place = Place::new("A case has begun", Letters::Shared, &[]);

pub const FRONT: Front =
    Front { passing: Some(Passing::LetsKeyThrough), ..Front::new(&PLACE, |_, _| Effects::new()) };
