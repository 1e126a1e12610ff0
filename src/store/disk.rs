//! What the store needs of a disk, and the real one.

use crate::arrange::Arrange;

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Write};
use std::os::unix::fs::{MetadataExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// What is known of a file without reading it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts {
    pub is_dir: bool,
    pub is_file: bool,
    pub len: u64,
    pub modified: Option<SystemTime>,
    /// Permission bits.
    pub mode: u32,
}

/// The outcome of trying to lock.
pub enum LockTry {
    /// Ours until dropped.
    Ours(Box<dyn Send + Sync>),
    /// Someone else holds it; what they wrote in it.
    Busy(String),
}

/// The operations the store is made of. Every path is followed through links.
pub trait Disk: Send + Sync {
    /// # Errors
    /// Whatever the system says.
    fn metadata(&self, path: &Path) -> io::Result<Facts>;
    /// Where a path leads through links; the last part need not exist.
    ///
    /// # Errors
    /// Whatever the system says.
    fn real_path(&self, path: &Path) -> io::Result<PathBuf>;
    /// Reads at most `limit` bytes.
    ///
    /// # Errors
    /// Whatever the system says.
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>>;
    /// Writes a file that must not exist yet.
    ///
    /// # Errors
    /// Whatever the system says; part of the file may then be there.
    fn write_new(&self, path: &Path, bytes: &[u8], mode: Option<u32>) -> io::Result<()>;
    /// Makes a file's content survive a power cut.
    ///
    /// # Errors
    /// Whatever the system says.
    fn sync(&self, path: &Path) -> io::Result<()>;
    /// The same for the names in a folder.
    ///
    /// # Errors
    /// Whatever the system says.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;
    /// Gives a file another name in one step, replacing what has it.
    ///
    /// # Errors
    /// Whatever the system says.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// # Errors
    /// Whatever the system says.
    fn remove(&self, path: &Path) -> io::Result<()>;
    /// The names in a folder, sorted.
    ///
    /// # Errors
    /// Whatever the system says.
    fn list(&self, folder: &Path) -> io::Result<Vec<PathBuf>>;
    /// Makes a folder and those above it.
    ///
    /// # Errors
    /// Whatever the system says.
    fn make_folder(&self, path: &Path) -> io::Result<()>;
    /// Takes an advisory lock on a file made for it, which holds `text`; it ends with the process at the latest.
    ///
    /// # Errors
    /// Whatever the system says.
    fn lock(&self, path: &Path, text: &str) -> io::Result<LockTry>;
}

/// The real disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct RealDisk;

/// More links in a row than this are a circle.
const MOST_LINKS: usize = 40;

fn real_path(path: &Path, links: usize) -> io::Result<PathBuf> {
    match fs::canonicalize(path) {
        Ok(path) => return Ok(path),
        Err(e) if e.kind() != io::ErrorKind::NotFound || links == 0 => return Err(e),
        Err(_) => {}
    }
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(to) = fs::read_link(path) {
        // A link to a file that is not there yet.
        return real_path(&folder.join(to), links - 1);
    }
    let name = path.file_name().ok_or_else(|| io::Error::from(io::ErrorKind::InvalidInput))?;
    Ok(fs::canonicalize(folder)?.join(name))
}

impl Disk for RealDisk {
    fn metadata(&self, path: &Path) -> io::Result<Facts> {
        let meta = fs::metadata(path)?;
        Ok(Facts {
            is_dir: meta.is_dir(),
            is_file: meta.is_file(),
            len: meta.len(),
            modified: meta.modified().ok(),
            mode: meta.permissions().mode() & 0o7777,
        })
    }

    fn real_path(&self, path: &Path) -> io::Result<PathBuf> {
        real_path(path, MOST_LINKS)
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        File::open(path)?.take(limit).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn write_new(&self, path: &Path, bytes: &[u8], mode: Option<u32>) -> io::Result<()> {
        let mut file = OpenOptions::new().write(true).create_new(true).mode(mode.unwrap_or(0o666)).open(path)?;
        if let Some(mode) = mode {
            file.set_permissions(fs::Permissions::from_mode(mode))?;
        }
        file.write_all(bytes)
    }

    fn sync(&self, path: &Path) -> io::Result<()> {
        File::open(path)?.sync_all()
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        match File::open(path)?.sync_all() {
            // Some file systems have no such thing.
            Err(e) if matches!(e.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) => Ok(()),
            other => other,
        }
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        let mut names = fs::read_dir(folder)?.map(|e| e.map(|e| e.path())).collect::<io::Result<Vec<_>>>()?;
        names.arrange_by(Ord::cmp);
        Ok(names)
    }

    fn make_folder(&self, path: &Path) -> io::Result<()> {
        fs::create_dir_all(path)
    }

    fn lock(&self, path: &Path, text: &str) -> io::Result<LockTry> {
        for _ in 0..8 {
            let mut file = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
            match rustix::fs::flock(&file, rustix::fs::FlockOperation::NonBlockingLockExclusive) {
                Ok(()) => {}
                Err(e) if e == rustix::io::Errno::WOULDBLOCK => {
                    let mut held = Vec::new();
                    (&file).take(4096).read_to_end(&mut held)?;
                    return Ok(LockTry::Busy(String::from_utf8_lossy(&held).into_owned()));
                }
                Err(e) => return Err(e.into()),
            }
            // The last holder may have removed the file between our opening and locking it: then it guards nothing.
            let here = file.metadata()?;
            if !fs::metadata(path).is_ok_and(|m| m.ino() == here.ino() && m.dev() == here.dev()) {
                continue;
            }
            file.set_len(0)?;
            file.write_all(text.as_bytes())?;
            return Ok(LockTry::Ours(Box::new(Held { path: path.to_path_buf(), _file: file })));
        }
        Err(io::Error::from(io::ErrorKind::ResourceBusy))
    }
}

/// A lock: the file goes while it is still locked.
struct Held {
    path: PathBuf,
    _file: File,
}

impl Drop for Held {
    fn drop(&mut self) {
        // Left behind, it is stale and taken over by whoever comes next.
        let _ = fs::remove_file(&self.path);
    }
}
