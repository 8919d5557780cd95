//! The real program, run to its end without a terminal: nothing is typed, and its home is none of this machine's.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output, Stdio};

fn run(command: &mut Command, home: &Path) -> Output {
    let command = command.env("HOME", home).env("XDG_DATA_HOME", home.join("data"));
    command.stdin(Stdio::null()).output().expect("the program runs")
}

fn program(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_boxcall"));
    command.args(arguments);
    command
}

/// Where there is no home.
pub fn boxcall(arguments: &[&str]) -> Output {
    run(&mut program(arguments), Path::new("/nonexistent-home"))
}

/// In a home that is there, which is its temporary folder too.
pub fn boxcall_in(arguments: &[&str], home: &Path) -> Output {
    run(program(arguments).env("TMPDIR", home), home)
}

/// On a room.
pub fn boxcall_on(room: impl AsRef<Path>, arguments: &[&str]) -> Output {
    run(program(arguments).arg("--room").arg(room.as_ref()), Path::new("/nonexistent-home"))
}

pub fn status(output: &Output) -> i32 {
    output.status.code().expect("it ended by itself")
}

pub fn words(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

pub fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{error}: {} {}", words(&output.stdout), words(&output.stderr)))
}
