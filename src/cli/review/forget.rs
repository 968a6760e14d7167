use crate::cli::args::ForgetTyped;
use crate::talk::failure::Failure;
use crate::talk::forgetting::forget;

/// Lists what would be removed, or removes it.
pub fn run(typed: &ForgetTyped) -> Result<(), Failure> {
    forget(&typed.what, typed.yes)
}
