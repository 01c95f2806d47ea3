//! The system's reasons in plain words.

use std::io::{Error, ErrorKind};

use crate::platform::Platform;

/// Why the system refused, without the number of its error and without the name of a temporary file.
pub(crate) fn plain_reason(error: &Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "file not found".to_owned(),
        ErrorKind::PermissionDenied => "permission denied".to_owned(),
        ErrorKind::IsADirectory => "is a folder, not a file".to_owned(),
        ErrorKind::NotADirectory => "a part of the path is not a folder".to_owned(),
        ErrorKind::StorageFull => "the disk is full".to_owned(),
        ErrorKind::QuotaExceeded => "the disk quota is used up".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only".to_owned(),
        ErrorKind::FileTooLarge => "the file would be too large".to_owned(),
        _ => {
            let text = error.to_string();
            let text = text.split(" (os error ").next().unwrap_or_default();
            text.split(" at path ")
                .next()
                .unwrap_or_default()
                .to_owned()
        }
    }
}

/// Why the system refused to make a file in a folder.
pub(crate) fn reason_of_folder(error: &Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "folder not found".to_owned(),
        _ => plain_reason(error),
    }
}

/// Why the system refused to put a new file in the place of another, in a folder in which it could be made.
pub(crate) fn reason_of_placing(error: &Error, platform: Platform) -> String {
    match (platform, error.kind()) {
        // Windows reports both in the same way.
        (Platform::Windows, ErrorKind::PermissionDenied) => {
            "permission denied, or another program has it open".to_owned()
        }
        _ => plain_reason(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_may_refuse_to_replace_what_is_open() {
        let refused = Error::from(ErrorKind::PermissionDenied);
        let [unix, windows] =
            [Platform::Unix, Platform::Windows].map(|on| reason_of_placing(&refused, on));
        assert_eq!(unix, "permission denied");
        assert_eq!(windows, "permission denied, or another program has it open");
        let full = Error::from(ErrorKind::StorageFull);
        assert_eq!(
            reason_of_placing(&full, Platform::Windows),
            "the disk is full"
        );
    }

    #[test]
    fn reasons_have_no_numbers_and_no_temporary_names() {
        assert_eq!(plain_reason(&ErrorKind::NotFound.into()), "file not found");
        let numbered = Error::from_raw_os_error(9);
        let whole = format!("{} (os error 9)", plain_reason(&numbered));
        assert_eq!(whole, numbered.to_string());
        let made = Error::other("too many links at path \"/x/.drystage-1.part\"");
        assert_eq!(plain_reason(&made), "too many links");
    }
}
