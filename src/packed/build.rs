//! Packs the sample plans: they are looked at seldom and would be a sixtieth of the program. And the table of what is moved
//! when it is loaded, a fortieth of it. And functions whose code is equal, an eightieth.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::{env, fs, io, process};

/// The tightest packing there is; it takes a blink.
const LEVEL: u8 = 10;

/// Functions of equal code become one. Known to lld, which links by default on most machines, not to every linker.
const FOLD: &str = "-Wl,--icf=all";

fn main() -> io::Result<()> {
    io::stdout().write_all(b"cargo::rerun-if-changed=plans\n")?;
    let to = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    let is = |name: &str, value: &str| env::var_os(name).is_some_and(|own| own == value);
    if is("CARGO_CFG_TARGET_OS", "linux") && is("CARGO_CFG_TARGET_ENV", "gnu") && is("PROFILE", "release") {
        // Read by glibc from 2.36 on; linkers that do not know it leave it out.
        io::stdout().write_all(b"cargo::rustc-link-arg-bins=-Wl,-z,pack-relative-relocs\n")?;
        if links_with(FOLD, &to) {
            io::stdout().write_all(format!("cargo::rustc-link-arg-bins={FOLD}\n").as_bytes())?;
        }
    }
    for entry in fs::read_dir(Path::new("plans"))? {
        let path = entry?.path();
        if path.extension().is_some_and(|e| e == "ron") {
            let packed = miniz_oxide::deflate::compress_to_vec(&fs::read(&path)?, LEVEL);
            fs::write(to.join(path.file_name().unwrap_or_default()), packed)?;
        }
    }
    Ok(())
}

/// Whether the linker that will be used takes an argument: not every one does, so an empty program is linked with it.
fn links_with(argument: &str, room: &Path) -> bool {
    let (Some(rustc), Some(target)) = (env::var_os("RUSTC"), env::var_os("TARGET")) else { return false };
    let mut link = process::Command::new(rustc);
    link.args(["--crate-name", "linked", "--crate-type", "bin", "-C"]).arg(format!("link-arg={argument}"));
    link.arg("--target").arg(target).arg("-o").arg(room.join("linked")).arg("-");
    if let Some(linker) = env::var("RUSTC_LINKER").ok().filter(|linker| !linker.is_empty()) {
        link.arg("-C").arg(format!("linker={linker}"));
    }
    if let Some(flags) = env::var("CARGO_ENCODED_RUSTFLAGS").ok().filter(|flags| !flags.is_empty()) {
        link.args(flags.split('\u{1f}'));
    }
    let linking =
        link.stdin(process::Stdio::piped()).stdout(process::Stdio::null()).stderr(process::Stdio::null()).spawn();
    linking.is_ok_and(|mut linking| {
        let written = linking.stdin.take().is_some_and(|mut program| program.write_all(b"fn main() {}").is_ok());
        linking.wait().is_ok_and(|end| end.success() && written)
    })
}
