//! Puts a file or a folder in the place of another one, so that whoever looks meanwhile sees the
//! old or the new whole, never half of either (and for a folder, for a moment, none).

use std::fs;
use std::path::{Path, PathBuf};

/// Moves `new` to `place`. Both must lie on one disk. A folder that was there is set aside first,
/// and comes back when the move fails.
///
/// # Errors
/// What went wrong, in a sentence.
pub fn replace(new: &Path, place: &Path) -> Result<(), String> {
    let told = |e: std::io::Error| format!("{}: {e}", place.display());
    let kind = fs::symlink_metadata(place).map(|m| m.file_type());
    let new_is_folder = new.is_dir();
    match kind {
        // A file takes the place of a file in one move.
        Ok(kind) if kind.is_dir() || new_is_folder => {
            let aside = beside(place, "old");
            let _ = remove(&aside);
            fs::rename(place, &aside).map_err(told)?;
            if let Err(fault) = fs::rename(new, place) {
                let _ = fs::rename(&aside, place);
                return Err(told(fault));
            }
            remove(&aside).map_err(told)
        }
        _ => fs::rename(new, place).map_err(told),
    }
}

/// Copies a file or a folder to the name that [`replace`] moves it from.
///
/// # Errors
/// What went wrong, in a sentence.
pub fn copy_and_replace(from: &Path, place: &Path) -> Result<(), String> {
    let new = beside(place, "new");
    let told = |e: std::io::Error| format!("{}: {e}", place.display());
    let _ = remove(&new);
    fs::create_dir_all(place.parent().unwrap_or(Path::new("."))).map_err(told)?;
    copy(from, &new).map_err(told)?;
    replace(&new, place).inspect_err(|_| {
        let _ = remove(&new);
    })
}

/// A hidden name in the same folder.
fn beside(place: &Path, what: &str) -> PathBuf {
    let name = place.file_name().unwrap_or_default().to_string_lossy();
    place.with_file_name(format!(".{name}.{what}"))
}

fn copy(from: &Path, to: &Path) -> std::io::Result<()> {
    if !from.is_dir() {
        return fs::copy(from, to).map(drop);
    }
    fs::create_dir(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        copy(&entry.path(), &to.join(entry.file_name()))?;
    }
    Ok(())
}

fn remove(what: &Path) -> std::io::Result<()> {
    match fs::symlink_metadata(what)?.is_dir() {
        true => fs::remove_dir_all(what),
        false => fs::remove_file(what),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_and_folders_take_each_others_place() {
        let top = std::env::temp_dir().join(format!("presolder-replace-{}", std::process::id()));
        fs::create_dir_all(top.join("from/inner")).unwrap();
        fs::write(top.join("from/inner/a"), "folder").unwrap();
        fs::write(top.join("file"), "file").unwrap();
        let place = top.join("deep/place");
        let (folder, file) = (top.join("from"), top.join("file"));
        for from in [&folder, &folder, &file, &file, &folder] {
            copy_and_replace(from, &place).unwrap();
            assert_eq!(place.is_dir(), from.is_dir());
            // Neither the copy nor what was there is left beside it.
            assert_eq!(fs::read_dir(top.join("deep")).unwrap().count(), 1);
        }
        assert_eq!(fs::read_to_string(place.join("inner/a")).unwrap(), "folder");
        assert!(copy_and_replace(&top.join("nothing"), &place).is_err());
        assert!(
            place.join("inner/a").exists(),
            "a failed copy leaves the old"
        );
        fs::remove_dir_all(top).unwrap();
    }
}
