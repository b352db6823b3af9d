//! Files of the keys of an archive's games.
//!
//! A file is Parquet with one column, `key`, of [`GameKey::BYTES`] bytes a row, in the order of the
//! archive. Its metadata say which source, stripe and share of the keys it holds.

use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow_array::builder::FixedSizeBinaryBuilder;
use arrow_array::cast::AsArray as _;
use arrow_array::{ArrayRef, FixedSizeBinaryArray, RecordBatch};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use hobble_terms::DEFINITIONS;
use hobble_terms::manifest::Stripe;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use serde::{Deserialize, Serialize};

use super::game_key::GameKey;
use crate::error::Error;

/// Key of the metadata.
const ABOUT: &str = "hobble.keys";

/// Ending of the name of a file of keys.
pub const ENDING: &str = ".keys.parquet";

/// Keys written at once.
const BATCH: usize = 1 << 14;

/// What a file of keys holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct About {
    /// Name of the source in the tables.
    pub source: String,
    /// Which of its parts.
    pub stripe: Stripe,
    /// Which of the shares that keys are dealt out to by their hash, from 0.
    pub share: u64,
    /// Number of shares.
    pub shares: u64,
    /// Version of the definitions.
    pub definitions: u32,
}

impl About {
    /// Name of the source, and of the stripe where it is one of several.
    pub fn name(&self) -> String {
        match self.stripe {
            Stripe { of: 1, .. } => self.source.clone(),
            Stripe { index, of } => format!("{}.{index}-of-{of}", self.source),
        }
    }

    /// Name of the file.
    pub fn file_name(&self) -> String {
        match self.shares {
            1 => format!("{}{ENDING}", self.name()),
            _ => format!("{}.share-{}{ENDING}", self.name(), self.share),
        }
    }
}

/// A file of keys that is being written.
pub struct KeyWriter {
    path: PathBuf,
    writer: ArrowWriter<File>,
    schema: Arc<Schema>,
    keys: FixedSizeBinaryBuilder,
}

impl KeyWriter {
    /// Begins a file.
    ///
    /// # Errors
    ///
    /// Where it cannot be written.
    pub fn create(path: &Path, about: &About) -> Result<KeyWriter, Error> {
        let file = File::create(path).map_err(Error::write(path))?;
        let size = DataType::FixedSizeBinary(GameKey::BYTES as i32);
        let schema = Arc::new(Schema::new(vec![Field::new("key", size, false)]));
        let begin = || -> Result<_, ParquetError> {
            let about = serde_json::to_string(about)
                .map_err(|error| ParquetError::External(error.into()))?;
            let mut writer = ArrowWriter::try_new(file, schema.clone(), None)?;
            writer.append_key_value_metadata(KeyValue::new(ABOUT.to_owned(), about));
            Ok(writer)
        };
        Ok(KeyWriter {
            writer: begin().map_err(Error::writer(path))?,
            schema,
            keys: FixedSizeBinaryBuilder::new(GameKey::BYTES as i32),
            path: path.to_owned(),
        })
    }

    /// Adds a key.
    ///
    /// # Errors
    ///
    /// Where it cannot be written.
    pub fn add(&mut self, key: &GameKey) -> Result<(), Error> {
        let added = self.keys.append_value(key.as_bytes());
        added.map_err(|error| Error::writer(&self.path)(error.into()))?;
        if arrow_array::builder::ArrayBuilder::len(&self.keys) >= BATCH {
            self.write()?;
        }
        Ok(())
    }

    fn write(&mut self) -> Result<(), Error> {
        let keys: ArrayRef = Arc::new(self.keys.finish());
        let written = RecordBatch::try_new(self.schema.clone(), vec![keys])
            .map_err(ParquetError::from)
            .and_then(|rows| self.writer.write(&rows));
        written.map_err(Error::writer(&self.path))
    }

    /// Ends the file.
    ///
    /// # Errors
    ///
    /// Where it cannot be written.
    pub fn finish(mut self) -> Result<(), Error> {
        self.write()?;
        let path = self.path;
        self.writer.close().map_err(Error::writer(&path))?;
        Ok(())
    }
}

/// A file of keys that is being read.
pub struct KeyFile {
    path: PathBuf,
    about: About,
    batches: ParquetRecordBatchReader,
    keys: Option<FixedSizeBinaryArray>,
    next: usize,
}

impl KeyFile {
    /// Opens a file.
    ///
    /// # Errors
    ///
    /// Where it cannot be read, or is not a file of keys of this version of the definitions.
    pub fn open(path: &Path) -> Result<KeyFile, Error> {
        let file = File::open(path).map_err(Error::read(path))?;
        let foreign = || Error::NoKeys {
            path: path.to_owned(),
        };
        let builder = ParquetRecordBatchReaderBuilder::try_new(file).map_err(|_| foreign())?;
        let metadata = builder.metadata().file_metadata().key_value_metadata();
        let about = metadata.and_then(|pairs| pairs.iter().find(|pair| pair.key == ABOUT));
        let about = about.and_then(|pair| pair.value.as_deref());
        let about: Option<About> = about.and_then(|text| serde_json::from_str(text).ok());
        let about = about.ok_or_else(foreign)?;
        if about.definitions != DEFINITIONS {
            return Err(Error::Definitions {
                path: path.to_owned(),
                found: about.definitions,
            });
        }
        let batches = builder.with_batch_size(BATCH).build();
        Ok(KeyFile {
            batches: batches.map_err(Error::parquet(path))?,
            path: path.to_owned(),
            about,
            keys: None,
            next: 0,
        })
    }

    /// What the file holds.
    pub fn about(&self) -> &About {
        &self.about
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The next key; `None` at the end.
    ///
    /// # Errors
    ///
    /// Where the file cannot be read.
    pub fn next_key(&mut self) -> Result<Option<GameKey>, Error> {
        loop {
            if let Some(keys) = self.keys.as_ref().filter(|keys| self.next < keys_len(keys)) {
                let bytes = keys.value(self.next);
                self.next += 1;
                let bytes = bytes.try_into().map_err(|_| Error::NoKeys {
                    path: self.path.clone(),
                })?;
                return Ok(Some(GameKey::from_bytes(bytes)));
            }
            let Some(batch) = self.batches.next() else {
                return Ok(None);
            };
            self.keys = Some(self.column(batch)?);
            self.next = 0;
        }
    }

    fn column(
        &self,
        batch: Result<RecordBatch, ArrowError>,
    ) -> Result<FixedSizeBinaryArray, Error> {
        let batch = batch.map_err(|error| Error::parquet(&self.path)(error.into()))?;
        let column = batch.columns().first();
        let keys = column.and_then(|column| column.as_fixed_size_binary_opt());
        keys.cloned().ok_or_else(|| Error::NoKeys {
            path: self.path.clone(),
        })
    }
}

fn keys_len(keys: &FixedSizeBinaryArray) -> usize {
    arrow_array::Array::len(keys)
}
