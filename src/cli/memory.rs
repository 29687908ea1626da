//! The memory that one file may take: as said, or by the machine.

use std::fs;

use crate::source::sizes;

/// Sets what was said, else half of what the machine has, or the group of processes.
pub fn set(said: Option<u64>) {
    if let Some(bytes) = said.or_else(|| Some(machine()? / 2)) {
        sizes::set_memory(bytes);
    }
}

/// A size: a number with MB, GB, MiB or GiB.
pub fn size(text: &str) -> Result<u64, String> {
    let digits = text.trim_end_matches(|sign: char| sign.is_ascii_alphabetic() || sign == ' ');
    let unit = match text[digits.len()..].trim() {
        "MB" => 1e6,
        "GB" => 1e9,
        "MiB" => 1_048_576.0,
        "GiB" => 1_073_741_824.0,
        _ => return Err("must have a unit: 500 MB, 2 GB, 2 GiB".to_owned()),
    };
    match digits.parse::<f64>() {
        Ok(number) if number * unit >= 16e6 && number * unit < 1e18 => Ok((number * unit) as u64),
        _ => Err("must be a number of at least 16 MB".to_owned()),
    }
}

/// proc(5), `MemTotal`; cgroups(7), `memory.max`.
fn machine() -> Option<u64> {
    let known = fs::read_to_string("/proc/meminfo").ok()?;
    let line = known.lines().find_map(|line| line.strip_prefix("MemTotal:"))?;
    let kilobytes: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    let group = fs::read_to_string("/sys/fs/cgroup/memory.max").ok();
    let group = group.and_then(|most| most.trim().parse::<u64>().ok());
    Some(group.unwrap_or(u64::MAX).min(kilobytes << 10))
}

#[cfg(test)]
mod tests {
    use super::size;

    #[test]
    fn sizes_have_a_unit() {
        assert_eq!(size("500MB"), Ok(500_000_000));
        assert_eq!(size("1.5 GiB"), Ok(1_610_612_736));
        for wrong in ["", "5", "GB", "-1 GB", "1 kB", "1 MB", "NaN GB", "inf GB"] {
            assert!(size(wrong).is_err(), "{wrong}");
        }
    }
}
