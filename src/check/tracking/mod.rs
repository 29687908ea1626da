//! Checks of the tracking family.
