//! Interarrival jitter of a stream of stamped packets.
//!
//! Source: RFC 3550, section 6.4.1 (J ← J + (|D| − J)/16) and appendix A.8 (the same in integers).

/// Running jitter in seconds after each arrival, the first being zero.
///
/// `arrival_s` is when each packet came, `sent_s` the stamp it carries; both in seconds.
pub fn interarrival(arrival_s: &[f64], sent_s: &[f64]) -> Vec<f64> {
    let transit: Vec<f64> = arrival_s.iter().zip(sent_s).map(|(a, s)| a - s).collect();
    let mut jitter = 0.0;
    let steps = transit.windows(2).map(|pair| {
        jitter += ((pair[1] - pair[0]).abs() - jitter) / 16.0;
        jitter
    });
    let first = if transit.is_empty() { None } else { Some(0.0) };
    first.into_iter().chain(steps).collect()
}

/// Running jitter in sixteenths of a clock unit after each arrival, in whole numbers as appendix
/// A.8 computes it. Divide by 16, rounding down, for the value a report carries.
pub fn interarrival_sixteenths(arrival: &[i64], sent: &[i64]) -> Vec<i64> {
    let transit: Vec<i64> = arrival.iter().zip(sent).map(|(a, s)| a - s).collect();
    let mut jitter = 0;
    let steps = transit.windows(2).map(|pair| {
        jitter += (pair[1] - pair[0]).abs() - ((jitter + 8) >> 4);
        jitter
    });
    let first = if transit.is_empty() { None } else { Some(0) };
    first.into_iter().chain(steps).collect()
}
