//! Files are written whole or not at all: into a temporary file in the same folder, renamed at the
//! end. What is left when the program is told to stop (Ctrl-C, a closed terminal) is removed.

use std::fmt;
use std::fs::File;
use std::io::{self, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

/// Temporary files that exist now; the handler of Ctrl-C must reach them from its own thread.
static IN_WRITING: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Exit code of a program that Ctrl-C ended, by the shells' custom of 128 + the signal's number.
pub const INTERRUPTED: i32 = 130;

/// Why a file could not be read or written.
#[derive(Debug)]
pub struct FileFault {
    /// Its path.
    pub path: PathBuf,
    /// What was tried: "read" or "written".
    pub tried: &'static str,
    /// What the system says.
    pub why: io::Error,
}

impl fmt::Display for FileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = self.path.display();
        write!(f, "{path} could not be {}: {}", self.tried, self.why)
    }
}

impl std::error::Error for FileFault {}

/// From now on Ctrl-C removes the files in writing and ends the program with [`INTERRUPTED`].
pub fn end_cleanly_on_interrupt() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // Without a handler Ctrl-C still ends the program; only the temporary file would stay.
        let _ = ctrlc::set_handler(|| {
            // Held until the end, so that no new temporary file appears in between.
            let list = in_writing();
            for path in list.iter() {
                let _ = std::fs::remove_file(path);
            }
            std::process::exit(INTERRUPTED);
        });
    });
}

/// Writes a file whole: `fill` gets an empty temporary file, which takes the name `path` when
/// everything is on the disk. On any failure the file that was there before stays as it was.
///
/// # Errors
/// When the folder does not exist or cannot be written, when `path` is something other than a
/// plain file, or when `fill` fails.
pub fn write_whole<T>(
    path: &Path,
    fill: impl FnOnce(&mut BufWriter<&File>) -> io::Result<T>,
) -> Result<T, FileFault> {
    write_inner(path, fill).map_err(|why| FileFault {
        path: path.to_path_buf(),
        tried: "written",
        why,
    })
}

fn write_inner<T>(
    path: &Path,
    fill: impl FnOnce(&mut BufWriter<&File>) -> io::Result<T>,
) -> io::Result<T> {
    // A rename would replace a device or a folder instead of writing into it.
    if std::fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return Err(io::Error::other("it is not a plain file"));
    }
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let (temporary, listed) = create_listed(folder)?;
    let mut writer = BufWriter::new(temporary.as_file());
    let value = fill(&mut writer)?;
    writer.flush()?;
    drop(writer);
    temporary.as_file().sync_all()?;
    listed.rename(temporary, path)?;
    Ok(value)
}

/// Writes a text file whole; see [`write_whole`].
///
/// # Errors
/// As [`write_whole`].
pub fn write_text(path: &Path, text: &str) -> Result<(), FileFault> {
    write_whole(path, |file| file.write_all(text.as_bytes()))
}

/// Reads a file of at most `limit` bytes.
///
/// # Errors
/// When it is not a plain file, or larger than `limit`.
pub fn read_bytes(path: &Path, limit: u64) -> Result<Vec<u8>, FileFault> {
    let read = || {
        let file = File::open(path)?;
        if !file.metadata()?.is_file() {
            return Err(io::Error::other("it is not a plain file"));
        }
        let mut bytes = Vec::new();
        file.take(limit + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > limit {
            let message = format!("it is larger than {limit} bytes");
            return Err(io::Error::other(message));
        }
        Ok(bytes)
    };
    read().map_err(|why| FileFault {
        path: path.to_path_buf(),
        tried: "read",
        why,
    })
}

/// Reads a text file of at most `limit` bytes.
///
/// # Errors
/// As [`read_bytes`], and when it is not UTF-8.
pub fn read_text(path: &Path, limit: u64) -> Result<String, FileFault> {
    String::from_utf8(read_bytes(path, limit)?).map_err(|fault| {
        let place = fault.utf8_error().valid_up_to();
        FileFault {
            path: path.to_path_buf(),
            tried: "read",
            why: io::Error::other(format!("it is not UTF-8 text (byte {place})")),
        }
    })
}

/// The name of a file without its folders, as it may go to other people; a path without a name as it
/// is.
pub fn file_name(path: &Path) -> String {
    let name = path.file_name().unwrap_or(path.as_os_str());
    name.to_string_lossy().into_owned()
}

fn in_writing() -> MutexGuard<'static, Vec<PathBuf>> {
    IN_WRITING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// An entry in [`IN_WRITING`], taken out when dropped.
struct Listed(PathBuf);

/// Makes a temporary file and its entry, without a moment in which only one of them exists.
fn create_listed(folder: &Path) -> io::Result<(tempfile::NamedTempFile, Listed)> {
    let mut list = in_writing();
    let mut builder = tempfile::Builder::new();
    builder.prefix(".presolder-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file: the user's mask takes its bits away from these.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let temporary = builder.tempfile_in(folder)?;
    list.push(temporary.path().to_path_buf());
    Ok((temporary, Listed(list[list.len() - 1].clone())))
}

impl Listed {
    fn rename(self, temporary: tempfile::NamedTempFile, path: &Path) -> io::Result<()> {
        // Held over the rename, so that the handler finds the file either listed or renamed.
        let mut list = in_writing();
        temporary.persist(path).map_err(|fault| fault.error)?;
        list.retain(|listed| *listed != self.0);
        drop(list);
        Ok(())
    }
}

impl Drop for Listed {
    fn drop(&mut self) {
        in_writing().retain(|listed| *listed != self.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect()
    }

    #[test]
    fn a_failed_writing_leaves_the_old_file_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.txt");
        write_text(&path, "old").unwrap();
        let failed = write_whole(&path, |file| {
            file.write_all(b"half")?;
            file.flush()?;
            assert_eq!(names(folder.path()).len(), 2);
            Err::<(), _>(io::Error::other("the disk is full"))
        });
        assert!(failed.unwrap_err().to_string().contains("the disk is full"));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(names(folder.path()), ["a.txt"]);
    }

    #[test]
    fn devices_and_folders_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        assert!(write_text(folder.path(), "x").is_err());
        assert!(write_text(&folder.path().join("none/a.txt"), "x").is_err());
        #[cfg(unix)]
        assert!(write_text(Path::new("/dev/null"), "x").is_err());
    }

    #[test]
    fn large_and_foreign_files_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        std::fs::write(&path, b"abc\xff").unwrap();
        assert!(
            read_text(&path, 3)
                .unwrap_err()
                .to_string()
                .contains("larger")
        );
        assert!(
            read_text(&path, 4)
                .unwrap_err()
                .to_string()
                .contains("byte 3")
        );
    }
}
