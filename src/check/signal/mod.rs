//! Checks of the signal family.
