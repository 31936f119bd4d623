// Package config turns the one file a grower writes into the complete, checked settings that the
// rest of the program works with, or into every fault of that file at once, each with its line.
//
// There are two shapes. File is the file as written: quantities are still text. Settings is typed,
// complete and immutable; nobody checks it again. Load and Parse go from one to the other. What is
// legal but foolish becomes a warning beside the settings. Print shows the settings as the program
// understood them, the year as a strip, and the warnings.
//
// Not in here: the parsing of single quantities (config/unit), of dates, hours and calendar specs
// (controller/season), and the opening of devices (drivers).
//
// Always: Settings are whole or absent, a fault names its line, its key, what is wrong and what
// would be right, and the same bytes give the same settings.
package config
