//! Copies of everything that is kept, in a form that either database takes back: a folder with a file of lines for each table, the
//! photos, and a manifest, which is written last, with the SHA-256 of each file. See [`tables`] for what a line says.
//!
//! A copy is one state: all tables are read in one transaction, beside whoever writes. A restored copy goes on as a new life of the
//! database ([`begin_new_life`]).

mod folder;
mod life;
mod manifest;
mod tables;

pub use folder::{Checked, FileWriter, Folder, is_empty, read_manifest, read_tables, write_tables};
pub use life::{NewLife, begin_new_life};
pub use manifest::{AgencyMark, FORMAT, FileMark, MANIFEST, Manifest, PHOTOS, PhotoMark};
pub use tables::{LEFT_OUT, TABLES, columns, read as read_rows};
