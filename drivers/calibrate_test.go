package drivers

import (
	"context"
	"errors"
	"math"
	"testing"

	"loambank/drivers/device"
)

type fixed struct{ value float64 }

var errFixed = errors.New("no value")

func (f fixed) Read(context.Context) (float64, error) {
	if f.value < 0 {
		return 0, errFixed
	}
	return f.value, nil
}
func (f fixed) String() string { return "probe fixed" }
func (f fixed) Close() error   { return nil }

func TestCalibrate(t *testing.T) {
	tests := []struct {
		name          string
		scale, offset float64
		raw, want     float64
		err           error
	}{
		{"nothing stated", 0, 0, 20, 20, nil},
		{"an offset only", 0, -0.5, 20, 19.5, nil},
		{"the scale comes first", 2, 1, 20, 41, nil},
		{"a contact turned round", -1, 1, 1, 0, nil},
		{"a fault stays one", 2, 1, -1, 0, errFixed},
		{"out of range", math.MaxFloat64, 0, 20, 0, device.ErrFormat},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := Stanza{Scale: tt.scale, Offset: tt.offset}.calibrate(fixed{tt.raw})
			if v, err := p.Read(t.Context()); v != tt.want || !errors.Is(err, tt.err) {
				t.Errorf("got %g, %v; want %g, %v", v, err, tt.want, tt.err)
			}
		})
	}
}
