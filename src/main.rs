//! The command line of earfirst; everything lives in the library.

/// Keeps memory constant over hours of practice: the system's own allocator is left with holes by clips of many lengths.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    earfirst::run()
}
