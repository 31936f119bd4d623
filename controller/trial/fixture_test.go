package trial

import (
	"os"
	"strings"
	"sync"
	"testing"
	_ "time/tzdata"

	"loambank/config"
	"loambank/controller/weather"
)

const burlington = "../../testdata/weather/USA_VT_Burlington.Intl.AP.726170_TMY3.epw.gz"

// farm is the example farm, with text changed.
func farm(t testing.TB, oldnew ...string) *config.Settings {
	t.Helper()
	text, err := os.ReadFile("../../testdata/config/example.toml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := config.Parse("farm.toml", []byte(strings.NewReplacer(oldnew...).Replace(string(text))), nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// file reads a year of weather once for all tests.
var file = sync.OnceValues(func() (*weather.Year, error) {
	f, err := os.Open(burlington)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return weather.Read(burlington, f)
})

func year(t testing.TB) *weather.Year {
	t.Helper()
	y, err := file()
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// live lets a house of s live through the year under the rule that it is given.
func live(t testing.TB, s *config.Settings, rule func(*config.House) Rule, trace bool) (*Plant, *Result) {
	t.Helper()
	y := year(t)
	p, err := plant(s, y)
	if err != nil {
		t.Fatal(err)
	}
	laid, err := Lay(y, s.Site.Zone)
	if err != nil {
		t.Fatal(err)
	}
	return p, p.Run(laid, rule(&s.Houses[0]), trace, nil)
}

// plant is the first house of s on the ground of a year.
func plant(s *config.Settings, y *weather.Year) (*Plant, error) {
	ground, err := Ground(y)
	if err != nil {
		return nil, err
	}
	return NewPlant(&s.Houses[0], ground, SettleDay(&s.Houses[0]), StepS)
}
