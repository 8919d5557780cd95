//! A box that no product file has: what its front says becomes a file of its own, which nobody has checked yet.

use super::{Pack, Platform, Product, Sundry, sheet};
use crate::measure::Kind;
use crate::udi::DeviceId;
use crate::units::{Diameter, Length};

const HEAD: &str = "# Typed from the front of a box. Compare it with the box and its leaflet, add what is missing, \
                    and only\n# then take out the line that says that nobody has.\n";

/// What is typed from the front of a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Front {
    /// As the label carried it.
    pub di: DeviceId,
    /// As printed; quotation marks and the like are taken as they are.
    pub name: String,
    /// As whoever typed it saw it; `Kind::Other` is never judged.
    pub kind: Kind,
    /// None for a box without a size.
    pub size: Option<(Diameter, Length)>,
    /// The identifier stands for it where the front shows none.
    pub reference: String,
}

impl Front {
    /// The file's name in the catalogue's folder; one file an identifier.
    pub fn file(&self) -> String {
        format!("{}.toml", self.id())
    }

    fn id(&self) -> String {
        let letters: String = self.di.as_str().chars().filter(char::is_ascii_alphanumeric).collect();
        format!("box-{}", letters.to_ascii_lowercase())
    }

    /// The product file, to be read by `product::read` like any other. It says nothing that the front does not.
    pub fn text(&self) -> String {
        let reference =
            if self.reference.is_empty() { self.di.as_str() } else { &self.reference }.to_string();
        let di = vec![self.di.clone()];
        let mut product = Product {
            id: self.id(),
            name: self.name.clone(),
            maker: "not typed".into(),
            kind: self.kind,
            verified: false,
            ..Product::blank()
        };
        match self.size {
            Some((diameter, length)) if self.kind != Kind::Other => {
                let boxes = vec![Pack { length, reference, di }];
                product.diameters.push(Platform { diameter, boxes, ..Platform::blank() });
            }
            _ => product.sundries.push(Sundry { length: None, reference, di }),
        }
        format!("{HEAD}{}", sheet::text(&product))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::product;

    #[test]
    fn what_is_typed_reads_back_as_an_unverified_product() {
        let di = DeviceId::parse("09521234543213").expect("a GTIN");
        let size = Some((Diameter::from_mm(2.75), Length::from_mm(23.0)));
        let name = "Mora \"new\"".to_string();
        let front =
            Front { di: di.clone(), name, kind: Kind::DrugElutingStent, size, reference: String::new() };
        let product = product::read(&front.file(), &front.text()).expect("it reads");
        assert!(!product.verified && product.diameters[0].boxes[0].di == [di]);
        assert_eq!(product.diameters[0].chart, None, "nothing is made up");
        let odd = Front { size: Some((Diameter::from_mm(2.625), Length::from_mm(22.125))), ..front.clone() };
        let odd = &product::read(&odd.file(), &odd.text()).expect("it reads").diameters[0];
        let size = (odd.diameter.mm(), odd.boxes[0].length.mm());
        assert_eq!(size, (2.625, 22.125), "as typed, however many decimals");
        let other = Front { kind: Kind::Other, size: None, ..front };
        assert!(product::read(&other.file(), &other.text()).expect("it reads").diameters.is_empty());
    }
}
