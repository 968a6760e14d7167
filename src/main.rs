//! The command line of earfirst; everything lives in the library.

fn main() -> std::process::ExitCode {
    earfirst::run()
}
