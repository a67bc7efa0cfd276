//! What is written for others: no identifier in it, no small number, nothing that records could
//! smuggle in, and the same bytes wherever it is made.

mod handed_over; // what two reports for the committee give back together; what a protocol hides
mod hostile; // markup, formulas, marks of direction and very long names in every column
mod identifiers; // no identifier of the sample in what bears none
mod markup; // a page taken apart into elements and text
mod network; // a small invented network, loaded once
mod reports; // compare, the index, a unit's report, who may read what
mod same_bytes; // any number of partitions, any zone and language of the machine
mod twelve_units; // behind a flag: the sample as twelve units
mod written; // a report by the binary; its files and tables
