//! "Did you mean …?"

/// The candidate nearest to what was typed, if any is near enough to be what was meant.
///
/// Distance is the number of letters to insert, delete, change or swap; a third of the word's
/// length is near enough.
pub fn nearest<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(typed, candidates).into_iter().next()
}

/// All candidates that are equally near, and near enough.
pub fn near<'a>(typed: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let mut found: Vec<(usize, &str)> = candidates
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(typed, candidate), candidate))
        .filter(|&(distance, candidate)| distance <= candidate.chars().count().max(3) / 3)
        .collect();
    let least = found.iter().map(|(distance, _)| *distance).min();
    found.retain(|(distance, _)| Some(*distance) == least);
    found.into_iter().map(|(_, candidate)| candidate).collect()
}

/// Whether a candidate begins with what was typed but for one slip of the finger.
pub fn begins(typed: &str, candidate: &str) -> bool {
    let length = typed.chars().count();
    let begin: String = candidate.chars().take(length).collect();
    length > 3 && strsim::damerau_levenshtein(typed, &begin) <= 1
}

/// A hint: the nearest candidate, or all of them if none is near.
pub(super) fn hint(typed: &str, candidates: &[&str]) -> String {
    match nearest(typed, candidates.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if candidates.is_empty() => String::new(),
        None => format!("known: {}", candidates.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_is_understood_and_another_word_is_not() {
        let ids = ["dropped-frames", "tracking-lag", "limit-dwell"];
        assert_eq!(nearest("droped-frames", ids), Some("dropped-frames"));
        assert_eq!(nearest("tracking_lag", ids), Some("tracking-lag"));
        assert_eq!(nearest("weather", ids), None);
    }
}
