//! The command line of earfirst; everything lives in the library.

/// Gives back to the system what is free. The C library's allocator keeps a heap for each thread and what was once lent for a
/// moment, so that an hour of practice would hold more than ten minutes.
#[global_allocator]
static ALLOCATOR: dlmalloc::GlobalDlmalloc = dlmalloc::GlobalDlmalloc;

fn main() -> std::process::ExitCode {
    earfirst::run()
}
