//! What is drawn beside the grid: the measured vessel, and the device or devices that are chosen.

use super::{Drawn, Overlay, State};
use crate::case::CallState;
use crate::fit::laid::Laid;
use crate::lesion::Lesion;

/// The plan that was called last, for the lesion that it was made for.
#[derive(Debug, Clone, PartialEq)]
pub struct Spanned {
    pub lesion: Lesion,
    pub devices: Vec<Laid>,
}

impl State {
    /// The vessel of the lesion in work, once it is measured: with the plan that is looked at, else the size under the
    /// cursor, else the plan that was called, else what was called last.
    pub fn drawn(&self) -> Option<Drawn<'_>> {
        let lesion = self.sizes.lesion.as_ref()?;
        if let Some(Overlay::Plans(plans)) = &self.overlay {
            let plan = plans.plans.get(plans.cursor);
            let lesion = plan.map_or(lesion, |plan| &plan.lesion);
            let devices = plan.map(|plan| plan.devices.clone()).unwrap_or_default();
            return Some(Drawn { lesion, devices, whose: String::new() });
        }
        if let (Some((diameter, length)), Some(boxed)) = (self.sizes.size(), self.sizes.box_here())
            && boxed.kind.is_stent()
        {
            let devices = vec![Laid::single(diameter, length, &boxed.name)];
            return Some(Drawn { lesion, devices, whose: "under the cursor".into() });
        }
        if let Some(spanned) = self.sizes.spanned.as_ref().filter(|spanned| spanned.lesion == *lesion) {
            return Some(Drawn {
                lesion,
                devices: spanned.devices.clone(),
                whose: "called as a span".into(),
            });
        }
        let (devices, whose) = self.called_device().unwrap_or_default();
        Some(Drawn { lesion, devices, whose })
    }

    fn called_device(&self) -> Option<(Vec<Laid>, String)> {
        let calls = &self.world.case.as_ref()?.calls;
        let call = calls.iter().rev().find(|call| {
            call.lesion == Some(self.lesion)
                && call.state != CallState::Cancelled
                && call.wanted.kind.is_some_and(|kind| kind.is_stent())
        })?;
        let (diameter, length) = call.wanted.diameter.zip(call.wanted.length)?;
        let name = call.wanted.name.clone().unwrap_or_default();
        Some((vec![Laid::single(diameter, length, &name)], format!("call {}", call.number)))
    }
}
