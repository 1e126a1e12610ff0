//! Roles and palettes. Text is the default foreground on the default background, always; meaning is carried by words,
//! signs, bold and reverse, and colour only decorates a mark that already says it.

use ratatui::style::{Color, Modifier, Style};

use crate::engine::Level;
use crate::words;

words! {
    /// How roles look.
    Palette {
        /// Attributes only.
        Plain = "plain",
        /// Sixteen colours.
        Colour = "colour",
        /// Attributes only, heavier: for sun.
        Contrast = "contrast",
    }
}

impl Palette {
    /// The palette to start with. A flag goes before a setting, a setting before `NO_COLOR`, that before the terminal.
    #[must_use]
    pub fn choose(flag: Option<Self>, setting: Option<Self>, no_color: Option<&str>, term: Option<&str>) -> Self {
        flag.or(setting).unwrap_or_else(|| {
            let plain = no_color.is_some_and(|v| !v.is_empty()) || matches!(term, Some("dumb" | "linux") | None);
            if plain { Self::Plain } else { Self::Colour }
        })
    }

    /// The next one.
    #[must_use]
    pub fn next(self) -> Self {
        match self {
            Self::Plain => Self::Colour,
            Self::Colour => Self::Contrast,
            Self::Contrast => Self::Plain,
        }
    }
}

/// What a piece of text is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    Text,
    /// The title of a pane or list.
    Heading,
    /// The title of the pane that keys go to.
    FocusHeading,
    /// A figure that matters.
    Figure,
    /// What is selected.
    Selected,
    /// The row of the selection, elsewhere than the selected cell.
    SelectedRow,
    /// What is being typed.
    Editing,
    /// The draft's mark, a changed figure.
    Changed,
    /// The word of a finding's level.
    Mark(Level),
    /// The header line.
    Header,
    /// A key in the footer.
    Key,
    /// A message that asks for attention.
    Alert,
}

/// A palette, and how lines are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    pub palette: Palette,
    /// Lines in ASCII.
    pub ascii: bool,
}

impl Theme {
    /// How a role looks.
    #[must_use]
    pub fn style(self, role: Role) -> Style {
        let plain = Style::new();
        let bold = plain.add_modifier(Modifier::BOLD);
        let reverse = plain.add_modifier(Modifier::REVERSED);
        match role {
            Role::Text | Role::Header => plain,
            Role::Heading if self.palette == Palette::Contrast => reverse,
            Role::FocusHeading => bold.add_modifier(Modifier::REVERSED),
            Role::Heading | Role::Figure | Role::Key | Role::Changed | Role::SelectedRow => bold,
            Role::Selected => reverse,
            Role::Editing => plain.add_modifier(Modifier::UNDERLINED),
            Role::Mark(Level::Stop) if self.palette == Palette::Colour => bold.fg(Color::Red),
            Role::Alert if self.palette == Palette::Contrast => bold.add_modifier(Modifier::REVERSED),
            Role::Mark(Level::Stop | Level::Caution) | Role::Alert => bold,
            Role::Mark(Level::Note) => plain,
        }
    }

    /// The character of a horizontal line.
    #[must_use]
    pub fn line(self) -> &'static str {
        match (self.ascii, self.palette) {
            (true, Palette::Contrast) => "=",
            (true, _) => "-",
            (false, Palette::Contrast) => "\u{2501}",
            (false, _) => "\u{2500}",
        }
    }

    /// The character of a vertical line.
    #[must_use]
    pub fn bar(self) -> &'static str {
        match (self.ascii, self.palette) {
            (true, _) => "|",
            (false, Palette::Contrast) => "\u{2503}",
            (false, _) => "\u{2502}",
        }
    }

    /// The corners of a box: top left, top right, bottom left, bottom right.
    #[must_use]
    pub fn corners(self) -> [&'static str; 4] {
        match (self.ascii, self.palette) {
            (true, _) => ["+", "+", "+", "+"],
            (false, Palette::Contrast) => ["\u{250f}", "\u{2513}", "\u{2517}", "\u{251b}"],
            (false, _) => ["\u{250c}", "\u{2510}", "\u{2514}", "\u{2518}"],
        }
    }
}
