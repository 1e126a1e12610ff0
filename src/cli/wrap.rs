//! Text in lines that fit any terminal.

/// Columns of a dumb terminal, less one so that no terminal wraps by itself.
const COLUMNS: usize = 79;

/// Adds words to the text, broken into lines of at most 79 columns: the first after `first`, the others after as many
/// spaces. A word longer than a line stands whole on its own.
pub(super) fn wrap(out: &mut String, first: &str, text: &str) {
    let indent = first.chars().count();
    out.push_str(first);
    let mut column = indent;
    let mut fresh = true;
    for word in text.split_whitespace() {
        let width = word.chars().count();
        if !fresh && column + 1 + width > COLUMNS {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', indent));
            column = indent;
            fresh = true;
        }
        if !fresh {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += width;
        fresh = false;
    }
    out.push('\n');
}
