//! The cars of this machine, as the event's engine wants them.

use crate::lanes::engine::Folders;
use crate::logbook::storage::StorageError;

use super::disk::DiskStorage;
use super::load::{find_car, has_file};
use super::paths::{Paths, write_whole};

/// Car folders on disk.
#[derive(Clone, Debug)]
pub struct DiskFolders {
    paths: Paths,
}

impl DiskFolders {
    /// The cars of these folders.
    pub fn new(paths: Paths) -> Self {
        Self { paths }
    }
}

impl Folders for DiskFolders {
    type Car = DiskStorage;

    fn cars(&self) -> Result<Vec<String>, String> {
        self.paths.cars()
    }

    fn open(&self, car: &str) -> Result<DiskStorage, StorageError> {
        DiskStorage::create(self.paths.car(car))
    }

    fn file(&self, car: &str) -> Option<String> {
        // Only a file that says it is of this car: what is at a path may have changed.
        let found = find_car(&self.paths, car, &Default::default()).ok()?;
        (found.read.car.id == car).then(|| found.file.text.to_string())
    }

    fn has_file(&self, car: &str) -> bool {
        has_file(&self.paths, car)
    }

    fn put_file(&self, car: &str, text: &str) -> Result<(), String> {
        if has_file(&self.paths, car) {
            return Ok(());
        }
        write_whole(&self.paths.car(car).join("car.toml"), text.as_bytes())
    }
}
