//! Reads `tests/data/sizing_cases.tsv`: published figures and what must come out, one row a case.

/// One row. `source` belongs into every message of an assertion.
#[derive(Debug, Clone)]
pub struct Row {
    pub id: String,
    pub serves: String,
    pub question: String,
    pub inputs: String,
    pub expected: String,
    pub tolerance: String,
    /// In words.
    pub source: String,
}

/// The rows that serve one part of the program (`inflate`, `units`, `fit`, …), in the order of the file.
pub fn rows(serves: &str) -> Vec<Row> {
    let rows: Vec<Row> = all_rows().into_iter().filter(|row| row.serves == serves).collect();
    assert!(!rows.is_empty(), "no row serves {serves:?}");
    rows
}

/// The whole file.
pub fn all_rows() -> Vec<Row> {
    let row = |line: &str| {
        let cells: Vec<String> = line.split('\t').map(str::to_string).collect();
        let [id, serves, question, inputs, expected, tolerance, source] =
            <[String; 7]>::try_from(cells).expect("seven columns");
        let source = crate::sources::words(&source);
        Row { id, serves, question, inputs, expected, tolerance, source }
    };
    include_str!("../data/sizing_cases.tsv").lines().skip(1).map(row).collect()
}

impl Row {
    /// The value of `name=value` among the inputs, which are separated by `;`.
    pub fn input(&self, name: &str) -> Option<&str> {
        let mut pairs = self.inputs.split(';').filter_map(|pair| pair.trim().split_once('='));
        pairs.find(|(key, _)| *key == name).map(|(_, value)| value)
    }

    /// The same as a number.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.input(name)
            .map(|text| text.parse().unwrap_or_else(|_| panic!("{}: {text:?} is not a number", self.id)))
    }

    /// A number that the row has to give.
    pub fn given(&self, name: &str) -> f64 {
        self.number(name).unwrap_or_else(|| panic!("{}: no {name}", self.id))
    }

    /// `2.00,2.25` or `every 0.25 from 2.00 to 5.00`.
    pub fn numbers(&self, name: &str) -> Vec<f64> {
        let text = self.input(name).unwrap_or_else(|| panic!("{}: no {name}", self.id));
        if text.starts_with("every 0.25") {
            return (8..=20).map(|quarters| f64::from(quarters) * 0.25).collect();
        }
        text.split(',').map(|number| number.parse().expect(&self.id)).collect()
    }

    /// What must come out, as a number; `none`, `reject` and the like are none.
    pub fn expected_number(&self) -> Option<f64> {
        self.expected.parse().ok()
    }

    /// How far off an answer may be; `exact` allows for binary fractions only.
    pub fn allowed(&self) -> f64 {
        self.tolerance.parse().unwrap_or(1e-9)
    }

    /// Fails with the row's source where the answer is off.
    pub fn check(&self, answer: Option<f64>) {
        let good = match (answer, self.expected_number()) {
            (Some(answer), Some(wanted)) => (answer - wanted).abs() <= self.allowed(),
            (None, None) => true,
            _ => false,
        };
        assert!(good, "{}", self.told(format!("{answer:?}")));
    }

    /// The same of an answer that has to be there.
    pub fn same(&self, answer: f64) {
        assert!(self.expected_number().is_some(), "{}", self.told(answer));
        self.check(Some(answer));
    }

    /// The same of an answer in words.
    pub fn same_words(&self, answer: &str) {
        assert_eq!(answer, self.expected, "{}", self.told(answer));
    }

    /// What was asked, found and expected, and whose figure that is.
    pub fn told(&self, found: impl std::fmt::Display) -> String {
        let Row { id, question, inputs, expected, source, .. } = self;
        format!("{id}: {question} ({inputs}): found {found}, expected {expected} [{source}]")
    }
}
