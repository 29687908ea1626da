//! Stamped streams.

use teleassay::num::jitter::{interarrival, interarrival_sixteenths};

use super::oracle::{Oracle, all_close};

/// RFC 3550 6.4.1; worked numbers by L. Ruoff on the wireshark-users list, 2007-02-22.
#[test]
fn interarrival_jitter_in_seconds() {
    let case = Oracle::case("rfc3550_wireshark");
    let sent: Vec<f64> = case.input("media_ts").iter().map(|ts| ts / 8000.0).collect();
    all_close(&interarrival(&case.input("arrival_s"), &sent), &case.expected_list("J_s"), 1e-12);
}

/// RFC 3550 A.8; the stream statistics test of aiortc.
#[test]
fn interarrival_jitter_in_whole_sixteenths() {
    let case = Oracle::case("rfc3550_integer_q4");
    let whole = |values: Vec<f64>| -> Vec<i64> { values.into_iter().map(|v| v as i64).collect() };
    let arrival = whole(case.input("arrival_units"));
    let jitter = interarrival_sixteenths(&arrival, &whole(case.input("media_ts")));
    assert_eq!(jitter, whole(case.expected_list("q4")));
    let reported: Vec<i64> = jitter.iter().map(|q4| q4 >> 4).collect();
    assert_eq!(reported, whole(case.expected_list("jitter")));
}
