//! Files: atomic save, lock, recovery copy, the shop's own files; and the stock they hold.

mod broken_stock;
mod faulty;
mod files;
mod shop;
mod stock;
