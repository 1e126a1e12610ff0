//! The truck stock on screen: pages of the same form as the plan's, undo by whole stocks, and where the file stands.

use std::sync::Arc;

use crate::plan::entry::Units;
use crate::plan::{FieldPath, ListPath};
use crate::stock::{Stock, Truck};
use crate::tui::choice::ChoiceList;
use crate::tui::form::{self, Page, Place, Row};
use crate::tui::line_edit::LineEdit;
use crate::wording::naming;

/// Its lists, in the order of the screen.
pub const SECTIONS: &[&str] = &["truck.spools", "truck.fuses", "truck.lugs", "truck.parts"];

/// The truck stock as read from its file.
#[derive(Clone, Debug, PartialEq)]
pub struct TruckFile {
    /// Where it stands, in words.
    pub path: String,
    pub state: TruckState,
}

/// What was found in its place.
#[derive(Clone, Debug, PartialEq)]
pub enum TruckState {
    /// No file yet.
    Missing,
    Read(Truck),
    /// It does not read: why, with line and column. It is left as it is.
    Broken(String),
}

/// A field being typed in.
#[derive(Clone, Debug, PartialEq)]
pub struct ShopField {
    pub at: FieldPath,
    pub line: LineEdit,
    pub touched: bool,
    pub said: Result<String, String>,
    pub list: Option<ChoiceList>,
}

/// The truck stock while it is on screen.
#[derive(Clone, Debug)]
pub struct Shop {
    pub path: String,
    /// What the file held when it was last read or written; `None`: there is none yet.
    pub on_disk: Option<Truck>,
    /// Why nothing may be changed.
    pub broken: Option<String>,
    pub stock: Arc<Stock>,
    pub units: Units,
    pub pages: Vec<Page>,
    pub field: Option<ShopField>,
    pub past: Vec<Arc<Stock>>,
    pub undone: Vec<Arc<Stock>>,
    /// The stock as an item came into it, while nothing has been entered there.
    pub fresh: Option<Arc<Stock>>,
    /// Whether the last change is not in the file.
    pub is_unsaved: bool,
}

impl Shop {
    /// The stock of a file beside the rest of the shop.
    #[must_use]
    pub fn new(file: TruckFile, stock: &Stock, units: Units) -> Self {
        let (truck, broken) = match file.state {
            TruckState::Missing => (None, None),
            TruckState::Read(truck) => (Some(truck), None),
            TruckState::Broken(why) => (None, Some(why)),
        };
        let stock = Stock { truck: truck.clone().unwrap_or_default(), ..stock.clone() };
        Self {
            path: file.path,
            on_disk: truck,
            broken,
            stock: Arc::new(stock),
            units,
            pages: vec![Page::new(Place::Sections(SECTIONS))],
            field: None,
            past: Vec::new(),
            undone: Vec::new(),
            fresh: None,
            is_unsaved: false,
        }
    }

    /// Whether a first stock is worth offering: nothing is there, in the file or on screen.
    #[must_use]
    pub fn offers_starter(&self) -> bool {
        self.broken.is_none() && self.stock.truck == Truck::default()
    }

    /// The page on top.
    #[must_use]
    pub fn page(&self) -> Option<&Page> {
        self.pages.last()
    }

    /// The rows of the page on top.
    #[must_use]
    pub fn rows(&self) -> Vec<Row> {
        self.page().map(|page| form::rows_in(self.units, &*self.stock, &page.place)).unwrap_or_default()
    }

    /// The focused row.
    #[must_use]
    pub fn row(&self) -> Option<Row> {
        let cursor = self.page()?.cursor;
        self.rows().into_iter().nth(cursor)
    }

    /// The list that an addition goes to.
    #[must_use]
    pub fn list(&self) -> Option<ListPath> {
        match (self.row(), &self.page()?.place) {
            (Some(Row::Link { place: Place::List(list), .. }), _) => Some(list),
            (_, Place::List(list)) => Some(list.clone()),
            (_, Place::Record(at)) if at.segments().count() > 2 => Some(at.split_last().0),
            _ => None,
        }
    }

    /// The item that is focused.
    #[must_use]
    pub fn item(&self) -> Option<FieldPath> {
        match (self.row()?, &self.page()?.place) {
            (Row::Item { at, .. }, _) => Some(at),
            (Row::Field { .. }, Place::Record(at)) => Some(at.clone()),
            _ => None,
        }
    }

    /// The page's title.
    #[must_use]
    pub fn title(&self) -> String {
        match self.page().map(|p| &p.place) {
            Some(Place::List(at)) => naming::section(at.as_str()).to_uppercase(),
            Some(Place::Record(at)) => naming::path_in(&*self.stock, at).trim_start_matches("truck ").to_uppercase(),
            _ => "TRUCK STOCK".into(),
        }
    }
}
