//! A disk that fails at a chosen operation, on top of the real one.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use coachwire::store::{Disk, Facts, LockTry, RealDisk};

/// How it fails.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Failing {
    /// The n-th changing operation reports a full disk, after writing half; later ones work.
    FullAt(usize),
    /// From the n-th changing operation on nothing happens any more, as after a kill.
    KilledAt(usize),
    /// Nothing below this folder can be written.
    NoWritesBelow(&'static str),
}

pub(crate) struct FaultyDisk {
    how: Failing,
    done: Mutex<usize>,
}

impl FaultyDisk {
    pub(crate) fn new(how: Failing) -> Self {
        Self { how, done: Mutex::new(0) }
    }

    fn change(&self, path: &Path, real: impl FnOnce() -> io::Result<()>, half: impl FnOnce()) -> io::Result<()> {
        let n = {
            let mut done = self.done.lock().unwrap();
            *done += 1;
            *done
        };
        match self.how {
            Failing::FullAt(at) if n == at => {
                half();
                Err(io::ErrorKind::StorageFull.into())
            }
            Failing::KilledAt(at) if n == at => {
                half();
                Err(io::ErrorKind::Other.into())
            }
            Failing::KilledAt(at) if n > at => Err(io::ErrorKind::Other.into()),
            Failing::NoWritesBelow(name) if path.iter().any(|part| part == name) => {
                Err(io::ErrorKind::ReadOnlyFilesystem.into())
            }
            _ => real(),
        }
    }
}

impl Disk for FaultyDisk {
    fn metadata(&self, path: &Path) -> io::Result<Facts> {
        RealDisk.metadata(path)
    }
    fn real_path(&self, path: &Path) -> io::Result<PathBuf> {
        RealDisk.real_path(path)
    }
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        RealDisk.read(path, limit)
    }
    fn write_new(&self, path: &Path, bytes: &[u8], mode: Option<u32>) -> io::Result<()> {
        let half = || drop(RealDisk.write_new(path, &bytes[..bytes.len() / 2], mode));
        self.change(path, || RealDisk.write_new(path, bytes, mode), half)
    }
    fn sync(&self, path: &Path) -> io::Result<()> {
        self.change(path, || RealDisk.sync(path), || ())
    }
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.change(path, || RealDisk.sync_folder(path), || ())
    }
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.change(from, || RealDisk.rename(from, to), || ())
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        self.change(path, || RealDisk.remove(path), || ())
    }
    fn list(&self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        RealDisk.list(folder)
    }
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        self.change(path, || RealDisk.make_folder(path), || ())
    }
    fn lock(&self, path: &Path, text: &str) -> io::Result<LockTry> {
        match self.how {
            Failing::NoWritesBelow(name) if path.iter().any(|part| part == name) => {
                Err(io::ErrorKind::ReadOnlyFilesystem.into())
            }
            _ => RealDisk.lock(path, text),
        }
    }
}
