//! Profiles.
#![no_main]

use libfuzzer_sys::fuzz_target;
use teleassay::catalogue::of_episodes;
use teleassay::profile::Profile;

fuzz_target!(|data: &[u8]| {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let checks: Vec<_> = of_episodes().map(|check| check.spec()).collect();
    let _ = Profile::parse(text, "teleassay.toml", &checks);
});
