package whatif_test

import (
	"os"
	"strings"
	"testing"
	"time"

	"loambank/config"
	"loambank/controller/plan/whatif"
	"loambank/controller/replay"
	"loambank/drivers/recording"
)

// TestTheMeasuredTunnelIsToldAsRecorded runs the tunnel's own measured readings through: it never had
// fans, so there is nothing to correct by, and the comparison says so.
func TestTheMeasuredTunnelIsToldAsRecorded(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/winter/tunnel.toml")
	if err != nil {
		t.Fatal(err)
	}
	parse := func(text string) *config.Settings {
		s, err := config.Parse("tunnel.toml", []byte(text), nil)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	was := parse(string(text))
	other := parse(strings.Replace(string(text), `margin    = "4 K"`, `margin    = "8 K"`, 1))
	c, err := whatif.Compare(was, other, tunnel(t, was), whatif.Options{Rested: true})
	if err != nil {
		t.Fatal(err)
	}
	h := &c.Houses[0]
	if !strings.Contains(h.Lacks, "never ran") || h.More != (whatif.Differences{}) || h.Closed[0].Account != nil {
		t.Errorf("lacks %q, more %+v: want no correction, since the fans never ran", h.Lacks, h.More)
	}
	narrow, wide := h.Open[0].Account.Stores[0].In.KWh(), h.Open[1].Account.Stores[0].In.KWh()
	if c.Rows == 0 || !(wide > 0 && wide < narrow) {
		t.Errorf("%d rows; heat in %.0f kWh over 8 K and %.0f kWh over 4 K: want less over the wider margin, and some", c.Rows, wide, narrow)
	}
}

// tunnel is the measured winter, merged.
func tunnel(t *testing.T, s *config.Settings) *replay.Kept {
	t.Helper()
	var readers []*recording.Reader
	for _, x := range []struct{ path, column string }{
		{"../../../testdata/greenhouse/veneto/tunnel_veneto_1_2021-06_2022-02.csv", "time_local"},
		{"../../../testdata/winter/soil_50cm.csv", "time"},
	} {
		f, err := os.Open(x.path)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { f.Close() })
		r, err := recording.NewReader(f, recording.Options{Name: x.path, Zone: s.Site.Zone, TimeColumn: x.column})
		if err != nil {
			t.Fatal(err)
		}
		readers = append(readers, r)
	}
	k, err := replay.Keep(recording.Merge(readers...))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestOnlySettingsOfTheSameStoresCompare(t *testing.T) {
	was := farm(t)
	for _, tt := range []struct{ name, old, new, want string }{
		{"a house of another name", `name     = "lower"`, `name     = "upper"`, "keep names and order"},
		{"a store of another name", `name     = "beds"`, `name     = "path"`, "keep names and order"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := whatif.Compare(was, farm(t, tt.old, tt.new), &replay.Kept{}, whatif.Options{})
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("error %v, want one with %q", err, tt.want)
			}
		})
	}
}

// TestTheSameSettingsDifferByNothing compares settings with themselves.
func TestTheSameSettingsDifferByNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("lives through years")
	}
	was := farm(t)
	recorded, _ := live(t, was, burlington)
	c, err := whatif.Compare(was, was, kept(t, recorded), whatif.Options{Until: time.Date(2003, 2, 1, 0, 0, 0, 0, was.Site.Zone)})
	if err != nil {
		t.Fatal(err)
	}
	if h := &c.Houses[0]; h.Lacks != "" || h.More != (whatif.Differences{}) {
		t.Errorf("lacks %q, more %+v, want none of either", h.Lacks, h.More)
	}
}
