//! What is embedded packed.

use miniz_oxide::inflate::decompress_to_vec;

/// Inflates a raw deflate stream; nothing where the stream is broken, which the tests exclude for the embedded ones.
#[must_use]
pub fn inflate(stream: &[u8]) -> Vec<u8> {
    decompress_to_vec(stream).unwrap_or_default()
}
