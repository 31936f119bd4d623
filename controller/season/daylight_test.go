package season

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestSunriseNoonAndSunsetAreThoseOfTheReference(t *testing.T) {
	for _, r := range rows(t, 16, 46) {
		site := siteIn(t, r.inputs["tz"], r.number(t, "lat"), r.number(t, "lon"))
		day := localTime(t, time.DateOnly, r.inputs["date"], time.UTC)
		light := DaylightOn(site, day.Year(), day.Month(), day.Day())
		wantPolar := map[string]Polar{"never up": PolarNight, "always up": PolarDay}[r.expected]
		if light.Polar != wantPolar {
			t.Errorf("%s: polar is %d, want %d", r.id, light.Polar, wantPolar)
		}
		if wantPolar != NotPolar {
			if !light.Sunrise.IsZero() || !light.Sunset.IsZero() {
				t.Errorf("%s: polar, yet sunrise %v, sunset %v", r.id, light.Sunrise, light.Sunset)
			}
			continue
		}
		for i, got := range []time.Time{light.Sunrise, light.Noon, light.Sunset} {
			want := localTime(t, "2006-01-02 15:04", r.inputs["date"]+" "+r.fields(";")[i], site.Zone)
			if got.Sub(want).Abs() > 2*time.Minute {
				t.Errorf("%s: event %d: got %s, want %s", r.id, i, got, want)
			}
		}
	}
}

func TestSunriseAndSunsetAreWithinAMinuteOfTheFullAlgorithm(t *testing.T) {
	mst := time.FixedZone("", -7*3600)
	for _, c := range []struct {
		id    string
		site  Site
		times [3]string // "" is not in the row
	}{
		// Elevation and pressure of this row are left out: the convention is a sea horizon. Its
		// sunset is the one within the UTC date, which is the local evening before.
		{"sun_and_time-S006", Site{39.742476, -105.1786, mst}, [3]string{"2003-10-17 06:12:43", "", ""}},
		{"sun_and_time-S006", Site{39.742476, -105.1786, mst}, [3]string{"", "", "2003-10-16 17:20:19"}},
		{"sun_and_time-S008", Site{39.74248, -105.1786, mst}, [3]string{"2015-01-02 07:21:55", "2015-01-02 12:04:45", "2015-01-02 16:47:43"}},
		{"sun_and_time-S009", Site{-35, 0, time.UTC}, [3]string{"1996-07-05 07:08:15", "1996-07-05 12:04:36", "1996-07-05 17:01:04"}},
	} {
		date := max(c.times[0], c.times[2])[:len(time.DateOnly)]
		year, month, day := localTime(t, time.DateOnly, date, c.site.Zone).Date()
		light := DaylightOn(c.site, year, month, day)
		for i, got := range []time.Time{light.Sunrise, light.Noon, light.Sunset} {
			if c.times[i] == "" {
				continue
			}
			want := localTime(t, time.DateTime, c.times[i], c.site.Zone)
			if got.Sub(want).Abs() > time.Minute {
				t.Errorf("%s: event %d: got %s, want %s", c.id, i, got, want)
			}
		}
	}
}

// A zone may be a day away from its longitude: the date asked for is the local one.
func TestDaylightIsOnTheLocalDateWhereZoneAndLongitudeDisagree(t *testing.T) {
	for _, c := range []struct {
		zone     string
		lat, lon float64
	}{
		{"Pacific/Kiritimati", 1.9, -157.4}, // UTC+14, west of the date line
		{"Pacific/Apia", -13.8, -171.8},
		{"Pacific/Tongatapu", -21.1, -175.2},
		{"Pacific/Chatham", -43.9, -176.5},
		{"Pacific/Pago_Pago", -14.3, -170.7},
		{"Asia/Kathmandu", 27.7, 85.3},
		{"Asia/Urumqi", 43.8, 87.6},
		{"Asia/Shanghai", 39.5, 76.0}, // noon near 15:00
		{"Australia/Hobart", -42.9, 147.3},
	} {
		site := siteIn(t, c.zone, c.lat, c.lon)
		for d := civilOf(2026, 1, 1); d <= civilOf(2026, 12, 31); d++ {
			year, month, day := d.date()
			light := DaylightOn(site, year, month, day)
			for name, at := range map[string]time.Time{"sunrise": light.Sunrise, "noon": light.Noon, "sunset": light.Sunset} {
				if y, m, dd := at.Date(); y != year || m != month || dd != day {
					t.Fatalf("%s, %d-%02d-%02d: %s is %s", c.zone, year, month, day, name, at)
				}
			}
			if h := light.Noon.Hour(); h < 11 || h > 15 {
				t.Fatalf("%s: noon at %s", c.zone, light.Noon)
			}
		}
	}
}

// anySite has a zone that suits its longitude, so that a local date is the solar one.
func anySite(t *rapid.T, maxLat float64) Site {
	lon := rapid.Float64Range(-179, 179).Draw(t, "lon")
	hours := int(math.Round(lon / 15))
	return Site{
		LatitudeDeg:  rapid.Float64Range(-maxLat, maxLat).Draw(t, "lat"),
		LongitudeDeg: lon,
		Zone:         time.FixedZone(fmt.Sprint(hours), hours*3600),
	}
}

func TestTheSunIsOnTheHorizonAtSunriseAndSunset(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site := anySite(t, 64)
		d := civil(rapid.Int64Range(int64(civilOf(1990, 1, 1)), int64(civilOf(2099, 12, 31))).Draw(t, "date"))
		year, month, day := d.date()
		light := DaylightOn(site, year, month, day)
		if y, m, dd := light.Noon.Date(); y != year || m != month || dd != day {
			t.Fatalf("noon of %d-%02d-%02d is %s", year, month, day, light.Noon)
		}
		if !light.Sunrise.Before(light.Noon) || !light.Noon.Before(light.Sunset) {
			t.Fatalf("out of order: %v", light)
		}
		for _, at := range []time.Time{light.Sunrise, light.Sunset} {
			if elevation, _ := SunPosition(site, at); math.Abs(elevation+0.833) > 0.005 {
				t.Fatalf("%s: the sun stands at %.4f°", at, elevation)
			}
		}
		if east := azimuth(site, light.Sunrise); east > 180 {
			t.Fatalf("the sun rises at azimuth %.1f°", east)
		}
		year, month, day = (d + 1).date()
		if next := DaylightOn(site, year, month, day); !next.Sunrise.After(light.Sunset) {
			t.Fatalf("the next sunrise %s is not after sunset %s", next.Sunrise, light.Sunset)
		}
	})
}

func azimuth(site Site, at time.Time) float64 {
	_, azimuth := SunPosition(site, at)
	return azimuth
}

func TestPolarMeansThatTheSunStaysOnOneSideOfTheHorizon(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site := anySite(t, 90)
		site.LatitudeDeg = math.Copysign(60+math.Abs(site.LatitudeDeg)/3, site.LatitudeDeg)
		d := civil(rapid.Int64Range(int64(civilOf(2020, 1, 1)), int64(civilOf(2040, 12, 31))).Draw(t, "date"))
		year, month, day := d.date()
		light := DaylightOn(site, year, month, day)
		high, _ := SunPosition(site, light.Noon)
		low, _ := SunPosition(site, light.Noon.Add(12*time.Hour))
		// The declination moves by up to 0.2° in half a day.
		switch {
		case light.Polar == PolarNight && high > -0.833+0.01:
			t.Fatalf("polar night with the sun at %.3f°", high)
		case light.Polar == PolarDay && low < -0.833-0.25:
			t.Fatalf("polar day with the sun at %.3f°", low)
		case light.Polar == NotPolar && (high < -0.833-0.01 || low > -0.833+0.25):
			t.Fatalf("not polar with the sun from %.3f to %.3f°", low, high)
		}
	})
	for month, want := range map[time.Month]Polar{time.March: NotPolar, time.June: PolarDay, time.December: PolarNight} {
		site := Site{LatitudeDeg: 75, Zone: time.UTC}
		if got := DaylightOn(site, 2026, month, 21).Polar; got != want {
			t.Errorf("21 %s at 75° N: polar %d, want %d", month, got, want)
		}
	}
}

func TestSunsetNearTheArcticCircleMayLieAfterMidnight(t *testing.T) {
	// 64.8° N in June: a night of about two hours, centred an hour and three quarters after
	// midnight on the clock.
	light := DaylightOn(siteIn(t, "America/Anchorage", 64.84, -147.72), 2026, time.June, 21)
	if light.Polar != NotPolar || light.Sunset.Day() != 22 || light.Sunrise.Day() != 21 {
		t.Errorf("got %v", light)
	}
}
