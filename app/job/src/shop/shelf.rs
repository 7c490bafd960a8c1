//! Toner files out of the store.

use std::sync::{Arc, PoisonError};

use super::{SHELVES, Shop, ShopError};
use crate::mixing::Shelved;
use crate::ports::StoreError;
use crate::shelf_file::{self, ShelfFile};

impl Shop {
    /// The toners that an entry of the record keeps. Read once, then kept at hand.
    ///
    /// # Errors
    /// When the file is not in the store, or is no toner file that this program reads.
    pub async fn shelf(&self, shelved: &Shelved) -> Result<Arc<ShelfFile>, ShopError> {
        let known = self.shelves.lock().unwrap_or_else(PoisonError::into_inner).get(&shelved.file).cloned();
        if let Some(known) = known {
            return Ok(known);
        }
        let lost = || StoreError::Damaged(format!("the toner file of \"{}\" is missing", shelved.name));
        let bytes = self.store.blob(shelved.file).await?.ok_or_else(lost)?;
        let (file, _) = shelf_file::read(&shelved.name, &bytes)?;
        let file = Arc::new(file);
        let mut shelves = self.shelves.lock().unwrap_or_else(PoisonError::into_inner);
        if shelves.len() >= SHELVES {
            shelves.pop_first();
        }
        shelves.insert(shelved.file, file.clone());
        Ok(file)
    }
}
