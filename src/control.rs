//! Where a control against a hazard can be taken out, so that it is proved that a test notices.
//!
//! Invariant: knows nothing of the trade. Without the feature `proving`, which only tests ask for, every control is in
//! force, and neither a switch nor the name of a control is in the program.

/// The environment variable that names the control to take out.
#[cfg(feature = "proving")]
pub const TAKEN_OUT: &str = "BOXCALL_CONTROL_OUT";

/// The environment variable that names a file, made when the control that is taken out is reached.
#[cfg(feature = "proving")]
pub const REACHED: &str = "BOXCALL_CONTROL_REACHED";

/// Whether this control is in force: always, unless a test has taken it out. `tests/it/hazard_table.rs` has its hazard.
#[cfg(feature = "proving")]
#[must_use]
pub fn holds(control: &str) -> bool {
    static TAKEN: std::sync::OnceLock<Option<String>> = std::sync::OnceLock::new();
    let holds = TAKEN.get_or_init(|| std::env::var(TAKEN_OUT).ok()).as_deref() != Some(control);
    if !holds && let Some(file) = std::env::var_os(REACHED) {
        // A file that can't be made is missed by the test that asked for it.
        let _ = std::fs::write(file, "");
    }
    holds
}

/// Whether this control is in force: always. `tests/it/hazard_table.rs` has its hazard.
#[cfg(not(feature = "proving"))]
#[must_use]
pub const fn holds(_: &str) -> bool {
    true
}
