package decide

import "fmt"

// Activity is what a store does: the state that people and metrics see. The zero value is Rest.
type Activity uint8

// The closed list of activities.
const (
	Rest      Activity = iota
	Hold               // an interlock keeps the fans off
	Hand               // a person has taken the fans and they stand still
	Frost              // discharge to save the crop, whatever it costs
	Fallback           // the air cannot be read; the stated duty holds
	Action             // something due by the calendar
	Discharge          // heat comes up
	Charge             // heat goes down
	Dry                // running only to take water out of the air
	activities
)

var activityNames = [activities]string{
	"rest", "hold", "hand", "frost", "fallback", "action", "discharge", "charge", "dry",
}

// Activities is the number of activities: Activity(0) to Activity(Activities-1).
const Activities = int(activities)

// String returns the word people see.
func (a Activity) String() string {
	if a >= activities {
		return fmt.Sprintf("activity(%d)", uint8(a))
	}
	return activityNames[a]
}

// MarshalText writes the word.
func (a Activity) MarshalText() ([]byte, error) {
	if a >= activities {
		return nil, fmt.Errorf("activity %d is not in the list", uint8(a))
	}
	return []byte(activityNames[a]), nil
}

// UnmarshalText reads the word.
func (a *Activity) UnmarshalText(text []byte) error {
	for i, name := range activityNames {
		if name == string(text) {
			*a = Activity(i)
			return nil
		}
	}
	return fmt.Errorf("activity %.20q is not in the list", text)
}
