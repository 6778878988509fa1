//! What enters and leaves a project: labels, tables, reports.
