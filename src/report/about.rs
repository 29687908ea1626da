//! What a finding of the session is about: the rig, the recordings, or the way the data is stored. Nobody
//! looks for a loose wire where numbers are stored in an unfortunate form.

use crate::catalogue::find;
use crate::model::{CheckSpec, Family};

/// What there is to review.
pub(super) fn subject(check: &CheckSpec) -> &'static str {
    if find(check.id).is_some_and(|check| check.of_storage) {
        return "the way the data is stored";
    }
    match check.family {
        Family::Motion | Family::Session => "the recordings",
        _ => "the rig",
    }
}

#[cfg(test)]
mod tests {
    use super::subject;
    use crate::check::signal::{coarse_quantisation, orientation_jumps};
    use crate::cohort::{constant_dimension, mixed_endings};

    #[test]
    fn what_is_only_stored_so_is_not_of_the_rig() {
        let stored = "the way the data is stored";
        assert_eq!(subject(orientation_jumps::CHECK.spec()), stored);
        assert_eq!(subject(constant_dimension::CHECK.spec()), stored);
        assert_eq!(subject(mixed_endings::CHECK.spec()), "the recordings");
        assert_eq!(subject(coarse_quantisation::CHECK.spec()), "the rig");
    }
}
