//! What is learnt from documents in invented vocabularies.

mod colours;
mod exceptions;
mod forms;
mod kinds;
mod learnt;
mod motions;
mod node_names;
mod report;
mod sorts;
mod structure;
mod verdicts;
mod xml_scenes;
