//! The command line of earfirst; everything lives in the library.

/// Meant to bring memory to rest sooner in hours of practice; which allocator does, `benches/FIGURES.md` (soak) leaves open.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    earfirst::run()
}
