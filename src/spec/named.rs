//! Files that a spec names.

use std::collections::BTreeMap;
use std::sync::Arc;

/// Gives the content of a file by the name that a spec has for it, or says why there is none, in words that follow
/// a colon. The program looks from the spec's folder; a library's user may look wherever the files are.
pub type Resolver<'r> = dyn Fn(&str) -> Result<Vec<u8>, String> + 'r;

/// The resolver of those who have a text and nothing else.
///
/// # Errors
/// Always.
pub fn no_files(_name: &str) -> Result<Vec<u8>, String> {
    Err("the spec was given as a text, without its files".to_owned())
}

/// The files that were asked for, each once.
pub(super) struct NamedFiles<'r> {
    resolver: &'r Resolver<'r>,
    known: BTreeMap<String, Result<Arc<[u8]>, String>>,
    /// The contents that could be read, in the order of the spec.
    contents: Vec<Arc<[u8]>>,
    /// Triangles of all meshes that were read.
    pub(super) triangles: usize,
}

impl<'r> NamedFiles<'r> {
    pub(super) fn new(resolver: &'r Resolver<'r>) -> Self {
        NamedFiles { resolver, known: BTreeMap::new(), contents: Vec::new(), triangles: 0 }
    }

    /// The content of a file.
    ///
    /// # Errors
    /// Why there is none.
    pub(super) fn content(&mut self, name: &str) -> Result<Arc<[u8]>, String> {
        if let Some(known) = self.known.get(name) {
            return known.clone();
        }
        let content = (self.resolver)(name).map(Arc::<[u8]>::from);
        self.contents.extend(content.iter().cloned());
        self.known.insert(name.to_owned(), content.clone());
        content
    }

    /// The contents that could be read, in the order of the spec.
    pub(super) fn finish(self) -> Vec<Arc<[u8]>> {
        self.contents
    }
}
