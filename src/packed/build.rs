//! Packs the sample plans: they are looked at seldom and would be a sixtieth of the program. And the table of what is moved
//! when it is loaded, a fortieth of it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// The tightest packing there is; it takes a blink.
const LEVEL: u8 = 10;

fn main() -> io::Result<()> {
    io::stdout().write_all(b"cargo::rerun-if-changed=plans\n")?;
    let is = |name: &str, value: &str| env::var_os(name).is_some_and(|own| own == value);
    if is("CARGO_CFG_TARGET_OS", "linux") && is("CARGO_CFG_TARGET_ENV", "gnu") && is("PROFILE", "release") {
        // Read by glibc from 2.36 on; linkers that do not know it leave it out.
        io::stdout().write_all(b"cargo::rustc-link-arg-bins=-Wl,-z,pack-relative-relocs\n")?;
        io::stdout().write_all(b"cargo::rustc-link-arg-bins=-Wl,--icf=all\n")?;
    }
    let to = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    for entry in fs::read_dir(Path::new("plans"))? {
        let path = entry?.path();
        if path.extension().is_some_and(|e| e == "ron") {
            let packed = miniz_oxide::deflate::compress_to_vec(&fs::read(&path)?, LEVEL);
            fs::write(to.join(path.file_name().unwrap_or_default()), packed)?;
        }
    }
    Ok(())
}
