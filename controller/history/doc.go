// Package history keeps, in history.db of the state directory, what every house measured and did.
//
// Samples are means with their least and greatest value: minutes for 35 days, quarters of an hour
// for two years, hours for ten; so are the decisions, at each change, and what people ordered and
// fans failed, for ten years. The journal holds for 30 days exactly what each tick of a house was
// given, to the bit, and a digest of what it decided, so that a replay can be compared; older time
// keeps samples and decisions and is not replayable. What decides, what counts (package ledger) and
// who replays are not here.
//
// It always holds that a house is never waited for: what the writer cannot take in time is dropped
// by whole ticks, counted and marked as a gap. What Flush returned for without error outlives a
// power cut; otherwise one loses at most the last half hour, and of an hour's row what was
// before them, which the quarters still have. A file that is damaged, foreign
// or of a newer schema is moved aside and a new one begun. Each row
// has a checksum; one that fails it is skipped and counted.
//
// Measured at three houses of eleven probes with noise in every tick of 10 s (size_test.go): 4.5 MB
// a day go to the disk, by the kernel's account on ext4. By the pages each table grew in a day, five
// years take 120 MB and ten years 170 MB: the journal 28, minutes 12, quarters 28, hours and
// decisions 10 a year.
package history
