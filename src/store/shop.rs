//! The shop's own files in the data directory: truck stock, shelf, settings, recent plans.

use std::path::{Path, PathBuf};

use super::{Fault, Stamp, Store, StoreError};
use crate::plan::format::LoadError;
use crate::stock::{Recent, Settings, Shelf, Stock, Truck};

const TRUCK: &str = "truck.ron";
const SHELF: &str = "shelf.ron";
const SETTINGS: &str = "settings.ron";
const RECENT: &str = "recent.ron";

impl Store {
    /// Everything of the shop. A file that does not read is replaced by what a shop starts with, and said.
    #[must_use]
    pub fn stock(&self) -> (Stock, Vec<StoreError>) {
        let mut troubles = Vec::new();
        let first = Stock::first();
        let stock = Stock {
            truck: self.shop_file(TRUCK, Truck::from_text, first.truck, &mut troubles),
            shelf: self.shop_file(SHELF, Shelf::from_text, first.shelf, &mut troubles),
            settings: self.shop_file(SETTINGS, Settings::from_text, first.settings, &mut troubles),
        };
        (stock, troubles)
    }

    /// Saves what differs from the files. A file that does not read is left as it is.
    ///
    /// # Errors
    /// [`StoreError`] of the first file that cannot be written, or that does not read and would change.
    pub fn save_stock(&self, stock: &Stock) -> Result<(), StoreError> {
        let first = Stock::first();
        self.save_shop_file(TRUCK, &stock.truck.to_text(), &first.truck.to_text(), parses(Truck::from_text))?;
        self.save_shelf(stock)?;
        self.save_shop_file(SETTINGS, &stock.settings.to_text(), &first.settings.to_text(), parses(Settings::from_text))
    }

    /// Saves the shelf alone.
    ///
    /// # Errors
    /// As [`Self::save_stock`].
    pub fn save_shelf(&self, stock: &Stock) -> Result<(), StoreError> {
        let first = Stock::first().shelf.to_text();
        self.save_shop_file(SHELF, &stock.shelf.to_text(), &first, parses(Shelf::from_text))
    }

    /// The truck stock's file and what it holds; none where there is no file yet.
    ///
    /// # Errors
    /// [`StoreError`] with line and column where it does not read.
    pub fn truck(&self) -> (Option<PathBuf>, Result<Option<Truck>, StoreError>) {
        let path = match self.shop_path(TRUCK) {
            Ok(path) => path,
            Err(e) => return (None, Err(e)),
        };
        let read = self
            .shop_text(&path)
            .and_then(|(text, _)| Truck::from_text(&text).map_err(|e| StoreError::not_plan(&path, &e)));
        let read = match read {
            Ok(truck) => Ok(Some(truck)),
            Err(e) if e.fault == Fault::Missing => Ok(None),
            Err(e) => Err(e),
        };
        (Some(path), read)
    }

    /// Saves the truck stock where its file still holds what it was read as.
    ///
    /// # Errors
    /// [`StoreError`] where the file does not read, has changed since, or cannot be written; it is untouched then.
    pub fn save_truck(&self, truck: &Truck, was: Option<&Truck>) -> Result<(), StoreError> {
        let now = self.truck().1?;
        if now.as_ref() != was && now.as_ref() != Some(truck) {
            return Err(StoreError::changed(&self.shop_path(TRUCK)?).advised(""));
        }
        self.save_shop_file(TRUCK, &truck.to_text(), "", parses(Truck::from_text))
    }

    /// Plans opened lately.
    #[must_use]
    pub fn recent(&self) -> Recent {
        self.shop_file(RECENT, Recent::from_text, Recent::default(), &mut Vec::new())
    }

    /// Puts a plan first in the list of recent plans.
    ///
    /// # Errors
    /// [`StoreError`] where the list cannot be written.
    pub fn remember(&self, path: &Path, title: &str, opened: &str) -> Result<(), StoreError> {
        let whole = self.disk.real_path(path).unwrap_or_else(|_| path.to_path_buf());
        let mut recent = self.recent();
        recent.remember(&whole.to_string_lossy(), title, opened);
        self.save_recent(&recent)
    }

    /// Notes what is on screen of a plan opened lately.
    ///
    /// # Errors
    /// [`StoreError`] where the list cannot be written.
    pub fn note_stood(&self, path: &Path, stood: &str) -> Result<(), StoreError> {
        let whole = self.disk.real_path(path).unwrap_or_else(|_| path.to_path_buf());
        let mut recent = self.recent();
        if recent.stand(&whole.to_string_lossy(), stood) { self.save_recent(&recent) } else { Ok(()) }
    }

    /// What was on screen when a plan was left.
    #[must_use]
    pub fn stood(&self, path: &Path) -> Option<String> {
        let whole = self.disk.real_path(path).unwrap_or_else(|_| path.to_path_buf());
        self.recent().stood(&whole.to_string_lossy()).filter(|stood| !stood.is_empty()).map(String::from)
    }

    /// Saves the list of recent plans.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be written.
    pub fn save_recent(&self, recent: &Recent) -> Result<(), StoreError> {
        self.save_shop_file(RECENT, &recent.to_text(), "", parses(Recent::from_text))
    }

    /// The text of one of the shop's files, which nobody names: what stands in its place and is no text is to be moved.
    fn shop_text(&self, path: &Path) -> Result<(String, Stamp), StoreError> {
        let advise = |e: StoreError| match e.fault {
            Fault::Directory | Fault::NotAFile | Fault::TooLarge | Fault::NotText => e.advised("move it away"),
            _ => e,
        };
        self.text(path).map_err(advise)
    }

    fn shop_path(&self, name: &str) -> Result<PathBuf, StoreError> {
        self.data.as_ref().map(|d| d.join(name)).ok_or_else(StoreError::no_data_directory)
    }

    fn shop_file<T>(
        &self,
        name: &str,
        read: fn(&str) -> Result<T, LoadError>,
        first: T,
        troubles: &mut Vec<StoreError>,
    ) -> T {
        let Ok(path) = self.shop_path(name) else { return first };
        let found =
            self.shop_text(&path).and_then(|(text, _)| read(&text).map_err(|e| StoreError::not_plan(&path, &e)));
        match found {
            Ok(value) => value,
            Err(e) => {
                if e.fault != Fault::Missing {
                    troubles.push(e);
                }
                first
            }
        }
    }

    /// `first`: what is held in place of a file that does not read.
    fn save_shop_file(
        &self,
        name: &str,
        text: &str,
        first: &str,
        reads: impl Fn(&str) -> Result<(), LoadError>,
    ) -> Result<(), StoreError> {
        let path = self.shop_path(name)?;
        match self.shop_text(&path) {
            Ok((old, _)) if old == text => return Ok(()),
            // What a person wrote there, with a slip in it, is not overwritten.
            Ok((old, _)) => match reads(&old) {
                Ok(()) => {}
                Err(_) if text == first => return Ok(()),
                Err(e) => return Err(StoreError::not_plan(&path, &e).advised("mend it or move it away first")),
            },
            Err(e) if e.fault == Fault::Missing => {
                if let Some(folder) = path.parent() {
                    self.disk.make_folder(folder).map_err(|e| StoreError::io(&path, "write", &e))?;
                }
            }
            Err(e) => return Err(e),
        }
        self.write_whole(&path, text.as_bytes(), None).map(|_| ())
    }
}

/// Whether a text reads, and why not.
fn parses<T>(read: fn(&str) -> Result<T, LoadError>) -> impl Fn(&str) -> Result<(), LoadError> {
    move |text| read(text).map(|_| ())
}
