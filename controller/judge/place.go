package judge

// Place is where a probe sits. The zero value is no stated place, written as the empty text.
type Place uint8

// The closed list of places. Crop and Intake are places of air probes, Between, Root and
// Undisturbed of soil probes.
const (
	NoPlace     Place = iota
	Crop              // among the leaves: frost limit, setpoint, floors
	Intake            // at the fan's intake: margin
	Between           // midway between pipes at pipe depth: margin, gain
	Root              // 10 to 15 cm deep: cap, floor
	Undisturbed       // outside the store's footprint: baseline
)

var placeWords = []string{
	NoPlace: "", Crop: "crop", Intake: "intake", Between: "between", Root: "root",
	Undisturbed: "undisturbed",
}

// ParsePlace returns the place of a word such as "root". An unknown word's error lists them all.
func ParsePlace(text string) (Place, error) {
	v, err := parseWord("place", placeWords, text)
	return Place(v), err
}

// String returns the place's word.
func (p Place) String() string { return word("place", placeWords, uint8(p)) }

// MarshalText returns the place's word; a place outside the list is an error.
func (p Place) MarshalText() ([]byte, error) { return marshalWord("place", placeWords, uint8(p)) }

// UnmarshalText is ParsePlace; on an error the place stays as it was.
func (p *Place) UnmarshalText(text []byte) error {
	v, err := ParsePlace(string(text))
	if err == nil {
		*p = v
	}
	return err
}
