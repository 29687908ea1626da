//! Checks of the timing family.
