package config

import (
	"net"
	"slices"
	"strconv"
	"strings"
	"time"

	"loambank/config/unit"
	"loambank/controller/decide"
	"loambank/controller/physics"
	"loambank/controller/season"
)

// build turns the file into settings, or into its faults.
func (b *builder) build(f *File, environ []string) (*Settings, error) {
	s := &Settings{}
	b.display = unit.SI
	if b.choice("", "units", f.Units, "si", "us") == "us" {
		b.display = unit.US
	}
	s.Display = b.display
	b.group = "farm"
	b.line("units", f.Units, !b.pos.has("units"))
	b.buildZone(s, f.Zone)
	b.zone = s.Site.Zone
	b.buildTick(s, f.Tick)
	b.buildPlaces(s, f, environ)
	b.buildHandUsers(s, f.HandUsers)
	b.group = "site"
	b.buildSite(s, f.Site)
	b.buildTurn(s, f.Season)
	b.buildCrops(f.Crops)
	prices := b.buildPrices(s, f.Prices)
	b.buildCosts(s, f.Costs)
	actions := b.buildActions(s, f)

	shared := decide.Settings{
		Season: season.Settings{Site: s.Site, Actions: actions},
		Tariff: prices.Settings, Cold: season.DatesBetween(s.Turn.FirstFrost, s.Turn.LastFrost),
		PressurePa: physics.PressureAtAltitude(s.ElevationM),
		MaxPowerW:  s.MaxPowerW, GeneratorPowerW: s.GeneratorPowerW,
		WorthBand: prices.worthBand, MinRatio: prices.minRatio,
	}
	taken := names{}
	for i, t := range f.House {
		table := index("house", i)
		if b.named(table, "name", t.Name) {
			b.take(taken, "house", table, t.Name)
		}
		own := shared
		own.Tariff = prices.of(t.Heater != nil)
		h := b.buildHouse(table, t, own)
		h.House.Decide.Actions = b.actionsIn(f.Action, &h)
		s.Houses = append(s.Houses, h)
	}
	if len(f.House) == 0 {
		b.missing("", "house", "at least one house, [[house]]")
	}
	s.Alarm = b.buildAlarm(f.Alarm)
	s.Publish = b.buildPublish(f.Publish)
	b.checkActions(f.Action, s.Houses)
	b.faults = b.faults.tidy()
	if len(b.faults) > 0 {
		return nil, b.faults
	}
	b.warnFoolish(s)
	s.Warnings, s.Effective = b.warnings.tidy(), grouped(b.lines)
	return s, nil
}

func (b *builder) buildZone(s *Settings, zone string) {
	s.Zone, s.Site.Zone = zone, time.UTC
	b.line("zone", zone, false)
	if zone == "" {
		b.missing("", "zone", `the farm's time zone, such as zone = "America/New_York"`)
		return
	}
	location, err := time.LoadLocation(zone)
	if err != nil || zone == "Local" {
		b.fault("zone", quote(zone)+" is not a known time zone", `write its IANA name, such as "America/New_York" or "Europe/Rome"`)
		return
	}
	s.Site.Zone = location
}

func (b *builder) buildTick(s *Settings, t Duration) {
	standard, _ := unit.ParseDuration(defaultTick)
	tick := b.seconds("", "tick", t, 1, 900)
	s.TickS = tick.otherwise(standard)
	b.tickS = s.TickS
	b.line("tick", b.display.Duration(s.TickS), !b.pos.has("tick"))
}

// buildPlaces reads what the environment may override.
func (b *builder) buildPlaces(s *Settings, f *File, environ []string) {
	fromEnvironment := b.environment(environ)
	for _, p := range []struct {
		key, value, variable string
		check                func(string) (what, remedy string)
		into                 *string
	}{
		{"listen", f.Listen, envPrefix + "LISTEN", wrongAddress, &s.Listen},
		{"state_dir", f.StateDir, envPrefix + "STATE_DIR", wrongFolder, &s.StateDir},
	} {
		*p.into = p.value
		if b.removed[p.key] {
			continue
		}
		overridden := slices.Contains(fromEnvironment, p.variable)
		if what, remedy := p.check(p.value); what != "" && overridden {
			b.faults = append(b.faults, Fault{File: "environment", Key: p.variable, What: what, Remedy: remedy})
		} else if what != "" {
			b.fault(p.key, what, remedy)
		}
		text := p.value
		if overridden {
			text += " (from " + p.variable + ")"
		}
		b.line(p.key, text, !overridden && !b.pos.has(p.key))
	}
}

// maxUserBytes bounds a name that may give orders; it stands in the journal.
const maxUserBytes = 64

func (b *builder) buildHandUsers(s *Settings, users []string) {
	for i, u := range users {
		key := index("hand_users", i)
		switch {
		case !plainName(u):
			b.fault(key, quote(u)+" is no user's name", "write 1 to 64 letters, digits or @ . _ -, as in the web settings")
		case slices.Contains(users[:i], u):
			b.fault(key, quote(u)+" is named twice", "remove one of them")
		}
	}
	s.HandUsers = slices.Clone(users)
	text := "nobody over the network"
	if len(users) > 0 {
		text = strings.Join(users, ", ")
	}
	b.line("hand_users", text, !b.pos.has("hand_users"))
}

// plainName reports whether a name can stand in a log and a journal as it is.
func plainName(name string) bool {
	odd := strings.ContainsFunc(name, func(r rune) bool {
		letter := 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9'
		return !letter && !strings.ContainsRune("@._-", r)
	})
	return name != "" && len(name) <= maxUserBytes && !odd
}

func wrongAddress(address string) (what, remedy string) {
	host, port, err := net.SplitHostPort(address)
	n, perr := strconv.ParseUint(port, 10, 16)
	if err != nil || perr != nil || n == 0 || strings.ContainsAny(host, " /") {
		return quote(address) + " is not an address to listen on", `write host and port, such as "127.0.0.1:9798", or ":9798" for every network`
	}
	return "", ""
}

func wrongFolder(folder string) (what, remedy string) {
	if strings.TrimSpace(folder) == "" || strings.ContainsAny(folder, "\n\r") {
		return quote(folder) + " is not a folder", `write a path such as "/var/lib/loambank"`
	}
	return "", ""
}

// environment returns our variables that are set, and warns of those that mean nothing.
func (b *builder) environment(environ []string) []string {
	var known []string
	for _, entry := range environ {
		name, value, _ := strings.Cut(entry, "=")
		key, _ := overridden(name, value)
		switch {
		case key != "":
			known = append(known, name)
		case strings.HasPrefix(name, envPrefix):
			b.warnings = append(b.warnings, Fault{
				File: "environment", Key: name, What: "this variable changes nothing",
				Remedy: "only " + envPrefix + "STATE_DIR and " + envPrefix + "LISTEN do; write the rest in the file",
			})
		}
	}
	return known
}

func (b *builder) buildSite(s *Settings, t SiteTable) {
	for _, key := range []string{"latitude", "longitude"} {
		if !b.pos.has("site." + key) {
			b.missing("site", key, "where the farm lies, such as site = { latitude = 43.1, longitude = -75.2 }")
		}
	}
	s.Site.LatitudeDeg = b.number("site", "latitude", t.Latitude, -90, 90).value
	s.Site.LongitudeDeg = b.number("site", "longitude", t.Longitude, -180, 180).value
	b.line("latitude", plainNumber(s.Site.LatitudeDeg)+"°", false)
	b.line("longitude", plainNumber(s.Site.LongitudeDeg)+"°", false)
	s.ElevationM = set(b, "elevation", b.length("site", "elevation", t.Elevation, -500, 6000), 0, b.display.Length)
	if low := b.celsius("site", "cold_night", t.ColdNight, -60, 40); low.stated {
		s.ColdNight, s.ColdNightIs = low.value, true
		b.line("cold_night", b.display.Setting(low.value), false)
	}
	s.MaxPowerW = set(b, "max_power", b.watts("site", "max_power", t.MaxPower, 10, 1e6), 0, b.limitOrNone)
	s.GeneratorPowerW = set(b, "generator_power", b.watts("site", "generator_power", t.GeneratorPower, 10, 1e6), 0, b.limitOrNone)
	if depth := b.length("site", "water_table", t.WaterTable, 0, 50); depth.stated {
		s.WaterTableM, s.WaterTableIs = depth.value, true
		b.line("water_table", b.display.Length(depth.value), false)
	}
	if s.Radon = t.Radon; t.Radon {
		b.line("radon", "the region is known for it", false)
	}
	if s.MaxPowerW > 0 && s.GeneratorPowerW > s.MaxPowerW {
		b.fault("site.generator_power", "it is over max_power", "a generator can carry less than the line, lower it or remove it")
	}
}

func (b *builder) limitOrNone(powerW float64) string {
	if powerW == 0 {
		return "no limit"
	}
	return b.display.Power(powerW)
}

// buildTurn reads the turn of the year.
func (b *builder) buildTurn(s *Settings, t SeasonTable) {
	b.group = "season"
	for _, d := range []struct {
		key, text, example string
		into               *season.MonthDay
	}{
		{"topping_up", t.ToppingUp, "09-10", &s.Turn.ToppingUp},
		{"first_frost", t.FirstFrost, "10-05", &s.Turn.FirstFrost},
		{"last_frost", t.LastFrost, "05-12", &s.Turn.LastFrost},
	} {
		*d.into = season.MonthDay{Month: time.January, Day: 1}
		if d.text == "" {
			b.missing("season", d.key, "month and day, such as "+d.key+" = "+quote(d.example))
			continue
		}
		day, err := season.ParseMonthDay(d.text)
		if err != nil {
			b.wrong("season."+d.key, err)
			continue
		}
		*d.into = day
		b.line(d.key, day.String(), false)
	}
}
