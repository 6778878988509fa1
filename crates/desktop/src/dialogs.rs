//! Asking for a file: the system's own dialogs, or a test's answers.

use std::path::PathBuf;

/// A question for a path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Question {
    /// Which project to open.
    OpenProject,
    /// Where to keep a project, with a name to offer.
    SaveProject(String),
    /// Where to write a PDF, with a name to offer.
    SavePdf(String),
    /// Which photo to add.
    OpenPhoto,
    /// Which folder of photos to look through.
    OpenPhotoFolder,
    /// Which file of a logger to read.
    OpenLogger,
    /// Where to write a picture, with a name to offer.
    SaveSvg(String),
    /// Where to write a picture in pixels, with a name to offer.
    SavePng(String),
    /// Where to write a table, with a name to offer.
    SaveCsv(String),
    /// Which table to bring in.
    OpenTable,
    /// Where to write a workbook, with a name to offer.
    SaveXlsx(String),
    /// Where to write a calendar file, with a name to offer.
    SaveCalendar(String),
}

/// Who answers. Nothing when the person cancels.
pub type Dialogs = Box<dyn FnMut(&Question) -> Option<PathBuf>>;

/// The system's own dialogs.
pub fn native() -> Dialogs {
    Box::new(|question| {
        let dialog = rfd::FileDialog::new();
        let projects =
            |dialog: rfd::FileDialog| dialog.add_filter("Binewright project", &[store::EXTENSION]);
        match question {
            Question::OpenProject => projects(dialog).set_title("Open a project").pick_file(),
            Question::SaveProject(name) => projects(dialog)
                .set_title("Keep the project as")
                .set_file_name(name)
                .save_file(),
            Question::SavePdf(name) => dialog
                .add_filter("PDF", &["pdf"])
                .set_title("Save the sheet as")
                .set_file_name(name)
                .save_file(),
            Question::OpenPhoto => dialog
                .add_filter("Photos", &["jpg", "jpeg", "png"])
                .set_title("Add a photo")
                .pick_file(),
            Question::OpenPhotoFolder => dialog
                .set_title("Look through a folder of photos")
                .pick_folder(),
            Question::OpenLogger => dialog
                .add_filter("Tables of loggers", &["csv", "txt", "tsv", "dat", "log"])
                .add_filter("All files", &["*"])
                .set_title("Read in temperatures")
                .pick_file(),
            Question::SaveSvg(name) => dialog
                .add_filter("SVG picture", &["svg"])
                .set_title("Save the picture as")
                .set_file_name(name)
                .save_file(),
            Question::SavePng(name) => dialog
                .add_filter("PNG picture", &["png"])
                .set_title("Save the picture as")
                .set_file_name(name)
                .save_file(),
            Question::SaveCsv(name) => dialog
                .add_filter("CSV table", &["csv"])
                .set_title("Save the table as")
                .set_file_name(name)
                .save_file(),
            Question::OpenTable => dialog
                .add_filter(
                    "Tables",
                    &["csv", "tsv", "txt", "xlsx", "xlsm", "xlsb", "xls", "ods"],
                )
                .add_filter("All files", &["*"])
                .set_title("Bring in a table")
                .pick_file(),
            Question::SaveXlsx(name) => dialog
                .add_filter("XLSX workbook", &["xlsx"])
                .set_title("Save the workbook as")
                .set_file_name(name)
                .save_file(),
            Question::SaveCalendar(name) => dialog
                .add_filter("Calendar", &["ics"])
                .set_title("Save the calendar as")
                .set_file_name(name)
                .save_file(),
        }
    })
}
