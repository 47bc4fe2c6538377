//! The names of the files in a car folder.

/// What a file name in a car folder means.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileName {
    /// The log of a writer.
    Log(String),
    /// The head beside it.
    Head(String),
    /// A torn tail that was set aside.
    Torn(String),
    /// One of several copies that disagree, kept aside by a merge: writer and tag.
    Aside(String, String),
    /// The head of such a copy.
    AsideHead(String, String),
    /// Named like a log or a head, but the writer's part is no writer id.
    Stray,
    /// What a replacement that was cut short left behind.
    Leftover,
    /// Nothing of ours.
    Other,
}

impl FileName {
    /// Reads a file name.
    pub fn read(name: &str) -> Self {
        if name.starts_with('.') && name.ends_with(".tmp") {
            return Self::Leftover;
        }
        let Some((writer, rest)) = name.split_once('.') else { return Self::Other };
        let looks_ours = name.ends_with(".jsonl") || name.ends_with(".head");
        if !is_writer_id(writer) {
            return if looks_ours { Self::Stray } else { Self::Other };
        }
        let own = writer.to_owned();
        if rest == "jsonl" {
            Self::Log(own)
        } else if rest == "head" {
            Self::Head(own)
        } else if rest.strip_prefix("torn-").is_some_and(|count| count.parse::<u32>().is_ok()) {
            Self::Torn(own)
        } else if let Some(tag) = rest.strip_prefix("aside-") {
            match tag.strip_suffix("-head") {
                Some(tag) => Self::AsideHead(own, tag.to_owned()),
                None => Self::Aside(own, tag.to_owned()),
            }
        } else if looks_ours {
            Self::Stray
        } else {
            Self::Other
        }
    }
}

/// Whether this may name a writer: 1 to 64 ASCII letters, digits, `-` and `_`, so that it is a plain file
/// name everywhere.
pub fn is_writer_id(text: &str) -> bool {
    (1..=64).contains(&text.len())
        && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_')
}

/// `<writer>.jsonl`.
pub fn log(writer: &str) -> String {
    format!("{writer}.jsonl")
}

/// `<writer>.head`.
pub fn head(writer: &str) -> String {
    format!("{writer}.head")
}

/// `<writer>.lock`.
pub fn lock(writer: &str) -> String {
    format!("{writer}.lock")
}

/// `.<name>.<mark>.tmp`: a new content before it takes its place under the name.
pub fn beside(name: &str, mark: &str) -> String {
    format!(".{name}.{mark}.tmp")
}

/// `<writer>.torn-<count>`.
pub fn torn(writer: &str, count: u32) -> String {
    format!("{writer}.torn-{count}")
}

/// `<writer>.aside-<tag>`.
pub fn aside(writer: &str, tag: &str) -> String {
    format!("{writer}.aside-{tag}")
}

/// `<writer>.aside-<tag>-head`.
pub fn aside_head(writer: &str, tag: &str) -> String {
    format!("{writer}.aside-{tag}-head")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_read_back() {
        let own = || "pit-1".to_owned();
        assert_eq!(FileName::read(&log("pit-1")), FileName::Log(own()));
        assert_eq!(FileName::read(&head("pit-1")), FileName::Head(own()));
        assert_eq!(FileName::read(&torn("pit-1", 3)), FileName::Torn(own()));
        assert_eq!(FileName::read(&aside("pit-1", "ab")), FileName::Aside(own(), "ab".into()));
        assert_eq!(FileName::read(&aside_head("pit-1", "ab")), FileName::AsideHead(own(), "ab".into()));
        assert_eq!(FileName::read(&lock("pit-1")), FileName::Other);
        assert_eq!(FileName::read(&beside("pit-1.head", "ab")), FileName::Leftover);
        assert_eq!(FileName::read("car.toml"), FileName::Other);
        assert_eq!(FileName::read("pit 1.jsonl"), FileName::Stray);
        assert_eq!(FileName::read("pit.old.jsonl"), FileName::Stray);
        assert_eq!(FileName::read("photos"), FileName::Other);
    }
}

/// Whether a text has the form of an id: `[A-Za-z0-9][A-Za-z0-9-]*`, at most 64 characters.
pub fn is_id(text: &str) -> bool {
    let mut bytes = text.bytes();
    text.len() <= 64
        && bytes.next().is_some_and(|first| first.is_ascii_alphanumeric())
        && bytes.all(|byte| byte.is_ascii_alphanumeric() || byte == b'-')
}
