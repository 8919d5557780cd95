//! A scan in plain lines, for whoever tries a scanner.

use crate::label::{self, Label, LabelCode, Refusal, Settings, card};

/// One scan in plain lines: its bytes, its fields, what to set.
pub fn report(bytes: &[u8], complete: bool, year: i32) -> Vec<String> {
    let hex: Vec<String> = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let shown: String = String::from_utf8_lossy(bytes)
        .chars()
        .map(|c| match c {
            '\u{1d}' => '␝',
            c if c.is_control() => '·',
            c => c,
        })
        .collect();
    let mut lines =
        vec![String::new(), format!("arrived     {shown}"), format!("in bytes    {}", hex.join(" "))];
    if !complete {
        lines.push("at its end  nothing: let the scanner send Enter behind each code".into());
    }
    if let Some(command) = card::read(bytes) {
        lines.push(match command {
            Ok(command) => format!("command     {}", command.word()),
            Err(refusal) => format!("command     not taken: {}", refusal.message),
        });
        return lines;
    }
    match label::read(bytes, &Settings::of_year(year)) {
        Ok(label) => lines.extend(understood(&label)),
        Err(refusal) => lines.extend(not_understood(&refusal)),
    }
    lines
}

fn understood(label: &Label) -> Vec<String> {
    let mut lines = vec![format!("understood  {}  {}", label.system, label.human_readable())];
    lines.extend(label.warnings.iter().map(|warning| format!("but         {}", warning.message)));
    if label.has_warning(LabelCode::AmbiguousNoSeparator) {
        lines.push("to set      let the scanner send GS (FNC1) as Ctrl+] or as F8".into());
    }
    lines
}

fn not_understood(refusal: &Refusal) -> Vec<String> {
    let mut lines = vec![format!("refused     {}", refusal.message)];
    if refusal.code == LabelCode::KeyboardLayout {
        lines.push("to set      the scanner's keyboard layout must be this computer's".into());
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lost_separator_tells_what_to_set() {
        let text = report(b"]d201095212345432131727022810LOT721S0001", true, 2026).join("\n");
        assert!(text.contains("to set      let the scanner send GS"), "{text}");
        let whole = report(b"]d201095212345432131727022810LOT7\x1d21S0001", true, 2026).join("\n");
        assert!(whole.contains("(10)LOT7(21)S0001") && !whole.contains("to set"), "{whole}");
        let unended = report(b"]d20109521234543213", false, 2026).join("\n");
        assert!(unended.contains("send Enter"), "{unended}");
    }
}
