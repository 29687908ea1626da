//! Checks of the limits family.
