//! The way from the top of a document to one of its tables, put into words only where somebody asks.

/// One step of a key path, and what lies above it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Way<'a> {
    up: Option<&'a Way<'a>>,
    key: &'a str,
    id: Option<&'a str>,
}

impl Way<'_> {
    /// The way on to the table of a key; its id, where it has one, becomes part of the path.
    pub fn on<'b>(&'b self, key: &'b str, id: Option<&'b str>) -> Way<'b> {
        Way { up: Some(self), key, id }
    }

    /// The path of a key of this table, with ids.
    pub fn path(&self, key: &str) -> String {
        self.on(key, None).written(true)
    }

    /// The path of a key in every such table.
    pub fn generic(&self, key: &str) -> String {
        self.on(key, None).written(false)
    }

    /// What this table is called in a message.
    pub fn name(&self) -> String {
        let path = self.written(true);
        if path.is_empty() { "the file".to_owned() } else { path }
    }

    fn written(&self, ids: bool) -> String {
        let mut path = self.up.map_or_else(String::new, |up| up.written(ids));
        for part in [Some(self.key), self.id.filter(|_| ids)].into_iter().flatten() {
            if !path.is_empty() {
                path.push('.');
            }
            path.push_str(part);
        }
        path
    }
}
