//! Room on the disk: a linker that runs out of it dies with "Bus error" and names no cause, so the
//! chores name it.

use std::path::Path;
use std::process::Command;

/// Below this much, a failed build is put down to the disk; gigabytes. A test program takes 0.1.
const FULL: f64 = 1.0;

/// Gigabytes free where a folder is or will be; `None` where `df` does not tell.
pub fn free_gigabytes(folder: &Path) -> Option<f64> {
    let there = folder.ancestors().find(|f| f.exists());
    let there = there.unwrap_or(Path::new("."));
    let output = Command::new("df").arg("-Pk").arg(there).output().ok()?;
    available(&String::from_utf8_lossy(&output.stdout))
}

/// What to add to a failure of cargo when the disk is full; empty when it is not.
pub fn told_when_full(folder: &Path) -> String {
    match free_gigabytes(folder) {
        Some(free) if free < FULL => format!(
            "\nThe disk is nearly full: {free:.1} GB are free for {}. Make room, or have \
             CARGO_TARGET_DIR name a folder on another disk.",
            folder.display()
        ),
        _ => String::new(),
    }
}

/// The fourth column of the second line, as POSIX has `df -Pk` print it: kilobytes of 1,024 bytes.
fn available(printed: &str) -> Option<f64> {
    let kilobytes: f64 = printed
        .lines()
        .nth(1)?
        .split_whitespace()
        .nth(3)?
        .parse()
        .ok()?;
    Some(kilobytes * 1024.0 / 1e9)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_columns_are_read_as_posix_orders_them() {
        let printed = "Filesystem 1024-blocks Used Available Capacity Mounted on\n\
                       /dev/sda1 263174212 79691776 16777216 84% /\n";
        let free = available(printed).expect("a number");
        assert!((free - 17.179_869).abs() < 1e-6, "{free}");
        assert_eq!(available("df: no such file\n"), None);
        assert_eq!(available(""), None);
    }

    #[test]
    fn a_folder_that_is_not_there_yet_counts_as_its_parent() {
        let folder = std::env::temp_dir().join("not/there/yet");
        if let Some(free) = free_gigabytes(&std::env::temp_dir()) {
            let of_the_other = free_gigabytes(&folder).expect("its parent is there");
            assert!((free - of_the_other).abs() < 5.0);
        }
    }
}
