//! A target in the words and marks of the screens.

use super::target::Target;
use crate::units::{Diameter, Length, at_least, at_most, plain};

impl Target {
    /// The labelled diameter is in the window.
    pub fn takes_diameter(&self, diameter: Diameter) -> bool {
        at_least(diameter.mm(), self.window[0].mm()) && at_most(diameter.mm(), self.window[1].mm())
    }

    /// The length covers the need, within the limit.
    pub fn takes_length(&self, length: Length) -> bool {
        at_least(length.mm(), self.length_min.mm())
            && self.limit.is_none_or(|limit| at_most(length.mm(), limit.mm()))
    }

    /// The length as a sum: `14 + 3 + 3 = 20 mm`.
    pub fn length_in_words(&self) -> String {
        let [distal, proximal] = self.margins;
        if distal.mm() == 0.0 && proximal.mm() == 0.0 {
            return format!("{} mm", plain(self.length_min.mm()));
        }
        let (lesion, need) = (plain(self.lesion.mm()), plain(self.length_min.mm()));
        format!("{lesion} + {} + {} = {need} mm", plain(distal.mm()), plain(proximal.mm()))
    }
}
