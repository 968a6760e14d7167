//! The command line of earfirst; everything lives in the library.

/// An allocator that gives freed memory back to the system. The C library's allocator keeps a heap for each thread and keeps memory
/// that was freed, so that the program would take more memory after an hour of practice than after ten minutes.
#[global_allocator]
static ALLOCATOR: dlmalloc::GlobalDlmalloc = dlmalloc::GlobalDlmalloc;

fn main() -> std::process::ExitCode {
    earfirst::run()
}
