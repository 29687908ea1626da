//! Cautions that stand on every report.

/// Good practice around moving arms (common practice; for the rules themselves: ISO 12100,
/// ISO 10218-1 and -2:2025, ISO 13850, IEC 60204-1).
pub(super) const FULL: &str = "\
An audit is not a safety function: a pass does not mean that the arm is safe to run. First \
autonomous run at low speed and torque, area clear, a hand on a tested emergency stop that cuts \
servo power. Arms drop when torque trips; take the load off before torque is enabled again.";

/// The same in one line.
pub(crate) const SHORT: &str =
    "An audit is not a safety function: a pass does not mean that the arm is safe.";
