//! The file format: RON, strict, version first.

use ron::Options;
use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::Serialize;

/// How RON is read and written here.
#[must_use]
pub fn options() -> Options {
    Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// One item on one line.
pub fn item_text<T: Serialize>(item: &T) -> String {
    options()
        .to_string_pretty(item, PrettyConfig::new().depth_limit(0).extensions(Extensions::empty()))
        .unwrap_or_default()
}
