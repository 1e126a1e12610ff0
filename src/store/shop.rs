//! The shop's own files in the data directory: truck stock, shelf, settings, recent plans.

use std::path::{Path, PathBuf};

use super::{Fault, Store, StoreError};
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

    /// Saves what differs from the files. A file that does not read is kept beside as `.broken`.
    ///
    /// # Errors
    /// [`StoreError`] of the first file that cannot be written.
    pub fn save_stock(&self, stock: &Stock) -> Result<(), StoreError> {
        self.save_shop_file(TRUCK, &stock.truck.to_text(), |t| Truck::from_text(t).is_ok())?;
        self.save_shop_file(SHELF, &stock.shelf.to_text(), |t| Shelf::from_text(t).is_ok())?;
        self.save_shop_file(SETTINGS, &stock.settings.to_text(), |t| Settings::from_text(t).is_ok())
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

    /// Saves the list of recent plans.
    ///
    /// # Errors
    /// [`StoreError`] where it cannot be written.
    pub fn save_recent(&self, recent: &Recent) -> Result<(), StoreError> {
        self.save_shop_file(RECENT, &recent.to_text(), |t| Recent::from_text(t).is_ok())
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
        let found = self.text(&path).and_then(|(text, _)| read(&text).map_err(|e| StoreError::not_plan(&path, &e)));
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

    fn save_shop_file(&self, name: &str, text: &str, reads: impl Fn(&str) -> bool) -> Result<(), StoreError> {
        let path = self.shop_path(name)?;
        match self.text(&path) {
            Ok((old, _)) if old == text => return Ok(()),
            Ok((old, _)) if reads(&old) => {}
            Err(e) if e.fault == Fault::Missing => {
                if let Some(folder) = path.parent() {
                    self.disk.make_folder(folder).map_err(|e| StoreError::io(&path, "write", &e))?;
                }
            }
            // What a person wrote there, with a slip in it, is not thrown away.
            _ => {
                let broken = path.with_extension("ron.broken");
                self.disk.rename(&path, &broken).map_err(|e| StoreError::io(&path, "write", &e))?;
            }
        }
        self.write_whole(&path, text.as_bytes(), None).map(|_| ())
    }
}
