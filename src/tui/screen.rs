//! The terminal as cells: what it shows now, and the fewest bytes that make it show the next frame.
//!
//! Written out here, not left to the terminal library, because a slow line feels every byte: the library places the
//! cursor anew before each run of changed cells, names attributes one by one and never clears the rest of a line. Here
//! unchanged cells are written again where that is shorter than passing over them, attributes change by the shortest
//! code, and blanks are cleared at once, to the end of a line or many within it. Whatever the terminal may measure otherwise than we do
//! (text that is not ASCII) is followed by a place in full.
//!
//! Source: ECMA-48, 8.3 (CHA, CUF, CUP, ECH, ED, EL, SGR); xterm control sequences for showing and hiding the cursor.

use std::io::{self, Write};

use ratatui::backend::{Backend, ClearType, WindowSize};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::{Position, Size};
use ratatui::style::{Color, Modifier};
use unicode_width::UnicodeWidthStr;

use crate::arrange::Arrange;

/// Fewer blanks than so many are written out: erasing them takes five bytes, and as many to pass over them.
const ERASED_LEAST: usize = 12;
/// Fewer changed cells than so many are never worth a row that is cleared and drawn afresh.
const AFRESH_LEAST: usize = 8;
/// Rewriting more than so many bytes never pays: a place in full has at most ten.
const REWRITTEN_MOST: usize = 10;

/// How the next character will look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Pen {
    fg: Color,
    bg: Color,
    modifier: Modifier,
}

const PLAIN: Pen = Pen { fg: Color::Reset, bg: Color::Reset, modifier: Modifier::empty() };
/// What shows on a blank.
const ON_BLANKS: Modifier = Modifier::UNDERLINED.union(Modifier::REVERSED).union(Modifier::CROSSED_OUT);

impl Pen {
    fn of(cell: &Cell) -> Self {
        Self { fg: cell.fg, bg: cell.bg, modifier: cell.modifier }
    }

    /// Whether blanks look the same in both.
    fn same_on_blanks(self, other: Self) -> bool {
        let shown = |pen: Self| (pen.bg, pen.modifier & ON_BLANKS);
        shown(self) == shown(other) && (self.fg == other.fg || !self.modifier.contains(Modifier::REVERSED))
    }
}

/// A terminal that is told only what changes.
#[derive(Debug)]
pub struct Screen<W: Write> {
    out: W,
    /// What gathers for it.
    line: Vec<u8>,
    /// What it shows, by rows; what lies beyond them is blank.
    rows: Vec<Vec<Cell>>,
    /// Where its cursor is, if that is certain.
    at: Option<Position>,
    pen: Pen,
    /// Whether its cursor is shown, if that is certain.
    shown: Option<bool>,
    /// Whether and where the cursor shall be at the end of the frame.
    wanted: (bool, Option<Position>),
}

impl<W: Write> Screen<W> {
    /// A terminal that has been cleared.
    pub fn new(out: W) -> Self {
        Self { out, line: Vec::new(), rows: Vec::new(), at: None, pen: PLAIN, shown: None, wanted: (false, None) }
    }

    fn cell(&self, x: u16, y: u16) -> &Cell {
        let row = self.rows.get(usize::from(y));
        row.and_then(|row| row.get(usize::from(x))).unwrap_or(&Cell::EMPTY)
    }

    fn keep(&mut self, x: u16, y: u16, cell: &Cell) {
        let (x, y) = (usize::from(x), usize::from(y));
        if self.rows.len() <= y {
            self.rows.resize(y + 1, Vec::new());
        }
        let Some(row) = self.rows.get_mut(y) else { return };
        if row.len() <= x {
            row.resize(x + 1, Cell::EMPTY);
        }
        if let Some(place) = row.get_mut(x) {
            place.clone_from(cell);
        }
    }

    /// Sends the changed cells of a row, given from left to right: them alone, or all that is not blank after the rest of the
    /// row has been cleared, whichever is shorter.
    fn send_row(&mut self, y: u16, changed: &[u16]) -> io::Result<()> {
        let before = (self.at, self.pen);
        self.put_row(y, changed)?;
        let (alone, after) = (std::mem::take(&mut self.line), (self.at, self.pen));
        (self.at, self.pen) = before;
        let is_shorter = self.put_afresh(y, changed)? && self.line.len() < alone.len();
        if !is_shorter {
            self.line = alone;
            (self.at, self.pen) = after;
        }
        self.send_line()
    }

    /// Sends what has gathered.
    fn send_line(&mut self) -> io::Result<()> {
        self.out.write_all(&self.line)?;
        self.line.clear();
        Ok(())
    }

    /// Clears the rest of a row from the first changed cell on and draws what is not blank; whether that was worth trying.
    fn put_afresh(&mut self, y: u16, changed: &[u16]) -> io::Result<bool> {
        let row = self.rows.get(usize::from(y)).map(Vec::as_slice).unwrap_or_default();
        let Some(from) = changed.first().filter(|_| changed.len() >= AFRESH_LEAST && row.iter().all(is_one_column))
        else {
            return Ok(false);
        };
        let is_drawn = |cell: &Cell| printed(cell) != " " || !Pen::of(cell).same_on_blanks(PLAIN);
        let drawn = (0u16..).zip(row).filter(|(x, cell)| x >= from && is_drawn(cell));
        let drawn: Vec<u16> = drawn.map(|(x, _)| x).collect();
        let pen = if self.pen.same_on_blanks(PLAIN) { self.pen } else { PLAIN };
        self.go(*from, y, pen)?;
        self.draw_with(if self.pen.same_on_blanks(PLAIN) { self.pen } else { PLAIN })?;
        self.line.write_all(b"\x1b[K")?;
        self.put_row(y, &drawn)?;
        Ok(true)
    }

    /// Puts the changed cells of a row into the line.
    fn put_row(&mut self, y: u16, changed: &[u16]) -> io::Result<()> {
        let blank_from = self.blank_from(y);
        let mut sent = 0;
        for x in changed {
            if *x < sent {
                continue;
            }
            let rest = changed.last().map_or(0, |last| last - x + 1);
            if *x >= blank_from && usize::from(rest) > "\x1b[K".len() {
                // Any of the blanks will do to begin at.
                let from = self.at.filter(|at| at.y == y).map_or(blank_from, |at| at.x.clamp(blank_from, *x));
                let clears_with = |pen: Pen| if pen.same_on_blanks(PLAIN) { pen } else { PLAIN };
                self.go(from, y, clears_with(self.pen))?;
                self.draw_with(clears_with(self.pen))?;
                return self.line.write_all(b"\x1b[K");
            }
            let blanks = self.blanks(*x, y);
            let within = || changed.iter().filter(|at| (*x..x + blanks).contains(at)).count();
            if usize::from(blanks) >= ERASED_LEAST && within() >= ERASED_LEAST {
                let pen = if self.pen.same_on_blanks(PLAIN) { self.pen } else { PLAIN };
                self.go(*x, y, pen)?;
                self.draw_with(if self.pen.same_on_blanks(PLAIN) { self.pen } else { PLAIN })?;
                write!(self.line, "\x1b[{blanks}X")?;
                sent = x + blanks;
                continue;
            }
            let pen = self.pen_for(self.pen, *x, y);
            self.go(*x, y, pen)?;
            let pen = self.pen_for(self.pen, *x, y);
            self.draw_with(pen)?;
            let cell = self.cell(*x, y);
            let (symbol, is_sure) = (printed(cell).to_string(), is_one_column(cell));
            self.line.write_all(symbol.as_bytes())?;
            self.at = is_sure.then_some(Position { x: x + 1, y });
        }
        Ok(())
    }

    /// The column from which a row is blank to its end. The right half of a wide character counts with its left.
    fn blank_from(&self, y: u16) -> u16 {
        let Some(row) = self.rows.get(usize::from(y)) else { return 0 };
        let last = row.iter().rposition(|cell| cell.symbol() != " " || !Pen::of(cell).same_on_blanks(PLAIN));
        let wide = last.and_then(|x| row.get(x)).is_some_and(is_wide);
        u16::try_from(last.map_or(0, |x| x + 1 + usize::from(wide))).unwrap_or(u16::MAX)
    }

    /// How many plain blanks stand in a row from a place on. The right half of a wide character is none.
    fn blanks(&self, x: u16, y: u16) -> u16 {
        if x > 0 && is_wide(self.cell(x - 1, y)) {
            return 0;
        }
        let row = self.rows.get(usize::from(y)).and_then(|row| row.get(usize::from(x)..)).unwrap_or_default();
        let blank = |cell: &&Cell| printed(cell) == " " && Pen::of(cell).same_on_blanks(PLAIN);
        u16::try_from(row.iter().take_while(blank).count()).unwrap_or(0)
    }

    /// The pen for a cell: the one in hand where that makes no difference.
    fn pen_for(&self, pen: Pen, x: u16, y: u16) -> Pen {
        let cell = self.cell(x, y);
        let own = Pen::of(cell);
        if printed(cell) == " " && pen.same_on_blanks(own) { pen } else { own }
    }

    fn draw_with(&mut self, pen: Pen) -> io::Result<()> {
        let change = change(self.pen, pen);
        self.pen = pen;
        self.line.write_all(change.as_bytes())
    }

    /// Moves the cursor by the shortest way, counting what it then takes to draw with a pen.
    fn go(&mut self, x: u16, y: u16, next: Pen) -> io::Result<()> {
        let to = Position { x, y };
        if self.at == Some(to) {
            return Ok(());
        }
        let full = if x == 0 { format!("\x1b[{}H", y + 1) } else { format!("\x1b[{};{}H", y + 1, x + 1) };
        let mut ways = vec![(full, self.pen)];
        match self.at {
            Some(at) if at.y == y => {
                ways.push((format!("\x1b[{}G", x + 1), self.pen));
                ways.extend(self.ahead("", at.x, to));
            }
            Some(at) if at.y < y => {
                // A line feed may or may not return the carriage, by the terminal's mode: never without a return.
                let down = "\n".repeat(usize::from(y - at.y));
                ways.extend(self.ahead(&format!("\r{down}"), 0, to));
            }
            _ => {}
        }
        let cost = |(bytes, pen): &(String, Pen)| bytes.len() + change(*pen, next).len();
        if let Some((bytes, pen)) = ways.into_iter().min_by_key(cost) {
            self.pen = pen;
            self.line.write_all(bytes.as_bytes())?;
        }
        self.at = Some(to);
        Ok(())
    }

    /// Ways ahead in a row, after some bytes: passing over cells, or writing them again.
    fn ahead(&self, before: &str, from: u16, to: Position) -> Vec<(String, Pen)> {
        let Some(columns) = to.x.checked_sub(from) else { return Vec::new() };
        let over = match columns {
            0 => String::new(),
            1 => "\x1b[C".into(),
            n => format!("\x1b[{n}C"),
        };
        let mut ways = vec![(format!("{before}{over}"), self.pen)];
        let (mut bytes, mut pen) = (before.to_string(), self.pen);
        for x in from..to.x {
            let cell = self.cell(x, to.y);
            // The right half of a wide character looks like a blank; written again, it would break the left.
            let is_half = x > 0 && is_wide(self.cell(x - 1, to.y));
            if bytes.len() > REWRITTEN_MOST || !is_one_column(cell) || is_half {
                return ways;
            }
            let next = self.pen_for(pen, x, to.y);
            bytes.push_str(&change(pen, next));
            bytes.push_str(printed(cell));
            pen = next;
        }
        ways.push((bytes, pen));
        ways
    }
}

/// Wide characters that something was drawn over in part become blank, as no terminal shows a half; the right halves of
/// the others have no looks of their own.
pub fn mend(frame: &mut Buffer) {
    let columns = usize::from(frame.area.width).max(1);
    for i in 0..frame.content.len() {
        if frame.content.get(i).is_none_or(|cell| cell.symbol().is_ascii() || !is_wide(cell)) {
            continue;
        }
        let is_whole = (i + 1) % columns != 0 && frame.content.get(i + 1).is_some_and(|half| half.symbol() == " ");
        if let Some(cell) = frame.content.get_mut(if is_whole { i + 1 } else { i }) {
            if is_whole {
                cell.reset();
            } else {
                cell.set_symbol(" ");
            }
        }
    }
}

/// What is sent for a cell: never a control character.
fn printed(cell: &Cell) -> &str {
    let symbol = cell.symbol();
    if symbol.is_empty() || symbol.chars().any(char::is_control) { " " } else { symbol }
}

/// Whether every terminal gives a cell's text one column: ASCII, and the lines of boxes.
fn is_one_column(cell: &Cell) -> bool {
    let mut chars = printed(cell).chars();
    let is_sure = |c: char| c.is_ascii() || ('\u{2500}'..='\u{257f}').contains(&c);
    chars.next().is_some_and(is_sure) && chars.next().is_none()
}

/// Whether a cell's text covers the next cell too.
fn is_wide(cell: &Cell) -> bool {
    printed(cell).width() > 1
}

/// Attributes with the codes that set them and take them back.
const ATTRIBUTES: [(Modifier, u8, u8); 9] = [
    (Modifier::BOLD, 1, 22),
    (Modifier::DIM, 2, 22),
    (Modifier::ITALIC, 3, 23),
    (Modifier::UNDERLINED, 4, 24),
    (Modifier::SLOW_BLINK, 5, 25),
    (Modifier::RAPID_BLINK, 6, 25),
    (Modifier::REVERSED, 7, 27),
    (Modifier::HIDDEN, 8, 28),
    (Modifier::CROSSED_OUT, 9, 29),
];

/// The shortest code from one pen to another.
fn change(from: Pen, to: Pen) -> String {
    if from == to {
        return String::new();
    }
    let code = |codes: &[String]| format!("\x1b[{}m", codes.join(";"));
    let mut codes: Vec<String> = Vec::new();
    let mut kept = from.modifier;
    for (attribute, _, off) in ATTRIBUTES {
        if kept.contains(attribute) && !to.modifier.contains(attribute) {
            codes.push(off.to_string());
            // One code takes back all that share it.
            let shared = ATTRIBUTES.iter().filter(|(_, _, other)| *other == off);
            shared.for_each(|(other, _, _)| kept.remove(*other));
        }
    }
    codes.extend(additions(Pen { modifier: kept, ..from }, to));
    let by_difference = code(&codes);
    let mut afresh = additions(PLAIN, to);
    if !afresh.is_empty() {
        afresh.insert(0, "0".into());
    }
    let afresh = code(&afresh);
    if afresh.len() < by_difference.len() { afresh } else { by_difference }
}

/// The codes that add what a pen has more.
fn additions(from: Pen, to: Pen) -> Vec<String> {
    let added = |modifier: Modifier| to.modifier.contains(modifier) && !from.modifier.contains(modifier);
    let mut codes: Vec<String> = Vec::new();
    codes.extend(ATTRIBUTES.iter().filter(|(m, _, _)| added(*m)).map(|(_, on, _)| on.to_string()));
    codes.extend((from.fg != to.fg).then(|| colour(to.fg, 30)));
    codes.extend((from.bg != to.bg).then(|| colour(to.bg, 40)));
    codes
}

/// The code of a colour; `base` is 30 for characters, 40 for what is behind them.
fn colour(colour: Color, base: u8) -> String {
    let plain = |n: u8| (base + n).to_string();
    let bright = |n: u8| (base + 60 + n).to_string();
    match colour {
        Color::Reset => plain(9),
        Color::Black => plain(0),
        Color::Red => plain(1),
        Color::Green => plain(2),
        Color::Yellow => plain(3),
        Color::Blue => plain(4),
        Color::Magenta => plain(5),
        Color::Cyan => plain(6),
        Color::Gray => plain(7),
        Color::DarkGray => bright(0),
        Color::LightRed => bright(1),
        Color::LightGreen => bright(2),
        Color::LightYellow => bright(3),
        Color::LightBlue => bright(4),
        Color::LightMagenta => bright(5),
        Color::LightCyan => bright(6),
        Color::White => bright(7),
        Color::Indexed(n) => format!("{};5;{n}", base + 8),
        Color::Rgb(r, g, b) => format!("{};2;{r};{g};{b}", base + 8),
    }
}

impl<W: Write> Backend for Screen<W> {
    type Error = io::Error;

    fn draw<'a, I>(&mut self, content: I) -> io::Result<()>
    where
        I: Iterator<Item = (u16, u16, &'a Cell)>,
    {
        let mut changed: Vec<(u16, u16)> = Vec::new();
        for (x, y, cell) in content {
            // The right half of a wide character is never given. When the left goes, terminals differ in what they
            // leave there.
            let last = if is_wide(cell) { x + 1 } else { x };
            if is_wide(self.cell(last, y)) {
                changed.push((y, last + 1));
            }
            if last > x {
                self.keep(last, y, &Cell::EMPTY);
            }
            self.keep(x, y, cell);
            changed.push((y, x));
        }
        changed.arrange_by(Ord::cmp);
        changed.dedup();
        for row in changed.chunk_by(|(a, _), (b, _)| a == b) {
            let Some((y, _)) = row.first() else { continue };
            let columns: Vec<u16> = row.iter().map(|(_, x)| *x).collect();
            self.send_row(*y, &columns)?;
        }
        Ok(())
    }

    fn hide_cursor(&mut self) -> io::Result<()> {
        self.wanted = (false, None);
        Ok(())
    }

    fn show_cursor(&mut self) -> io::Result<()> {
        self.wanted.0 = true;
        Ok(())
    }

    /// Never asked: the answer would race the keys.
    fn get_cursor_position(&mut self) -> io::Result<Position> {
        Err(io::ErrorKind::Unsupported.into())
    }

    fn set_cursor_position<P: Into<Position>>(&mut self, position: P) -> io::Result<()> {
        self.wanted.1 = Some(position.into());
        Ok(())
    }

    fn clear(&mut self) -> io::Result<()> {
        self.rows.clear();
        (self.at, self.pen, self.shown) = (None, PLAIN, None);
        self.out.write_all(b"\x1b[m\x1b[2J")
    }

    fn clear_region(&mut self, clear_type: ClearType) -> io::Result<()> {
        match clear_type {
            ClearType::All => self.clear(),
            // Nothing here clears a part.
            _ => Err(io::ErrorKind::Unsupported.into()),
        }
    }

    fn size(&self) -> io::Result<Size> {
        let (width, height) = crossterm::terminal::size()?;
        Ok(Size { width, height })
    }

    fn window_size(&mut self) -> io::Result<WindowSize> {
        Ok(WindowSize { columns_rows: self.size()?, pixels: Size { width: 0, height: 0 } })
    }

    /// Ends the frame: the cursor where it shall be, the pen plain.
    fn flush(&mut self) -> io::Result<()> {
        self.draw_with(PLAIN)?;
        let (shown, at) = self.wanted;
        if let Some(at) = at.filter(|_| shown) {
            self.go(at.x, at.y, PLAIN)?;
            self.draw_with(PLAIN)?;
        }
        self.send_line()?;
        if self.shown != Some(shown) {
            self.shown = Some(shown);
            self.out.write_all(if shown { b"\x1b[?25h" } else { b"\x1b[?25l" })?;
        }
        self.out.flush()
    }
}
