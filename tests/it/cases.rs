//! Reads `tests/data/sizing_cases.tsv`: published figures and what must come out, one row a case.

/// One row. `source` belongs into every message of an assertion.
#[derive(Debug, Clone)]
pub struct Row {
    pub id: String,
    pub question: String,
    pub inputs: String,
    pub expected: String,
    pub tolerance: String,
    pub source: String,
    pub mark: String,
}

/// The rows that serve one part of the program (`inflate`, `units`, `fit`, …), in the order of the file.
pub fn rows(serves: &str) -> Vec<Row> {
    let text = include_str!("../data/sizing_cases.tsv");
    let rows = text.lines().skip(1).map(|line| line.split('\t').map(str::to_string).collect::<Vec<_>>());
    let rows: Vec<Row> = rows
        .filter(|cells| cells[1] == serves)
        .map(|cells| {
            let [id, _, question, inputs, expected, tolerance, source, mark] =
                <[String; 8]>::try_from(cells).expect("eight columns");
            Row { id, question, inputs, expected, tolerance, source, mark }
        })
        .collect();
    assert!(!rows.is_empty(), "no row serves {serves:?}");
    rows
}

impl Row {
    /// The value of `name=value` among the inputs, which are separated by `; `.
    pub fn input(&self, name: &str) -> Option<&str> {
        self.inputs
            .split("; ")
            .find_map(|pair| pair.split_once('=').filter(|(key, _)| *key == name))
            .map(|p| p.1)
    }

    /// The same as a number.
    pub fn number(&self, name: &str) -> Option<f64> {
        self.input(name)
            .map(|text| text.parse().unwrap_or_else(|_| panic!("{}: {text:?} is no number", self.id)))
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
        let Row { id, question, inputs, expected, source, mark, .. } = self;
        let good = match (answer, self.expected_number()) {
            (Some(answer), Some(wanted)) => (answer - wanted).abs() <= self.allowed(),
            (None, None) => true,
            _ => false,
        };
        assert!(good, "{id}: {question} ({inputs}): {answer:?}, expected {expected}; {source} [{mark}]");
    }
}
