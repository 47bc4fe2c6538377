//! The sibling of the calls of Unix, built and run here too, so that it does not rot where nobody builds it.

use std::fs;
use std::path::Path;

#[path = "../../src/shell/system/elsewhere.rs"]
mod sibling;

#[test]
fn the_sibling_of_the_unix_calls_builds_and_answers() {
    let folder = tempfile::tempdir().unwrap();
    let one = folder.path().join("one.txt");
    fs::write(&one, "1").unwrap();
    let open = fs::File::open(&one).unwrap();
    sibling::still_there(&open, &one).unwrap();
    sibling::sync_folder(folder.path()).unwrap();
    let real = fs::canonicalize(&one).unwrap();
    assert!(sibling::same_file(&real, &one) && !sibling::same_file(&real, Path::new("/nowhere")));
    assert_eq!(sibling::path_from_text(&sibling::path_to_text(&one)), one);
    assert!(!sibling::open_to_others(&one));
}
