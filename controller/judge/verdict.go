package judge

// Verdict is what is known of one probe, or of several of one place, at one tick. The zero value
// is a probe that never answered.
type Verdict struct {
	// Value is the last accepted reading, in the role's unit (see Raw). It stays where Quality
	// is Bad, for display only.
	Value   float64
	Quality Quality
	Cause   Cause // why Quality is not Good
	// AgeS is the time since Value was read, s; of a probe never read, since it was first asked.
	AgeS float64
}

// Quality says how far a reading may be relied on. The zero value is Bad.
type Quality uint8

// Bad readings are as good as none. Doubtful ones may raise an alarm and bring heat up to the crop,
// but never put heat down or dry on their own. Good ones serve every rule.
const (
	Bad Quality = iota
	Doubtful
	Good
)

var qualityWords = []string{Bad: "bad", Doubtful: "doubtful", Good: "good"}

// Usable reports whether a reading of this quality may be used at all.
func (q Quality) Usable() bool { return q != Bad }

// String returns the quality's word.
func (q Quality) String() string { return word("quality", qualityWords, uint8(q)) }

// MarshalText returns the quality's word; a quality outside the list is an error.
func (q Quality) MarshalText() ([]byte, error) {
	return marshalWord("quality", qualityWords, uint8(q))
}

// UnmarshalText reads a quality's word; on an error the quality stays as it was.
func (q *Quality) UnmarshalText(text []byte) error {
	v, err := parseWord("quality", qualityWords, string(text))
	if err == nil {
		*q = Quality(v)
	}
	return err
}

// Cause is why a verdict is not good. The zero value is Missing.
type Cause uint8

// The closed list of causes, with the quality each comes with.
const (
	Missing    Cause = iota // never answered: bad
	Fine                    // nothing to say against it: good
	Stale                   // silent for too long: bad
	NotANumber              // NaN or infinite: bad
	ErrorValue              // the device's way of saying that it could not measure: bad
	OutOfRange              // outside what the role can be: bad
	Jump                    // moved faster than the place can: doubtful, bad when it never settles
	Stuck                   // did not move for too long: doubtful
	Pinned                  // at the end of a humidity probe's scale: doubtful
	Recovering              // good again after bad, not yet often enough: doubtful
	Odd                     // probes of one place disagree: doubtful
)

var causeWords = []string{
	Missing: "missing", Fine: "fine", Stale: "stale", NotANumber: "not-a-number",
	ErrorValue: "error-value", OutOfRange: "out-of-range", Jump: "jump", Stuck: "stuck",
	Pinned: "pinned", Recovering: "recovering", Odd: "odd",
}

// String returns the cause's word.
func (c Cause) String() string { return word("cause", causeWords, uint8(c)) }

// MarshalText returns the cause's word; a cause outside the list is an error.
func (c Cause) MarshalText() ([]byte, error) { return marshalWord("cause", causeWords, uint8(c)) }

// UnmarshalText reads a cause's word; on an error the cause stays as it was.
func (c *Cause) UnmarshalText(text []byte) error {
	v, err := parseWord("cause", causeWords, string(text))
	if err == nil {
		*c = Cause(v)
	}
	return err
}
