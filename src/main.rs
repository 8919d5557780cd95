//! Invariant: hands the command line to `cli` and its exit status to the system; knows nothing of the trade.

fn main() -> std::process::ExitCode {
    boxcall::cli::main()
}
