package replay_test

import (
	"math"
	"time"
)

// vapourPa is the vapour pressure at saturation over water, Pa: Magnus' form with the constants of
// Sonntag 1990, as in WMO-No. 8, annex 4.B; within 0.1 % of the core's above 0 °C.
func vapourPa(c float64) float64 { return 611.2 * math.Exp(17.62*c/(243.12+c)) }

// dew inverts vapourPa.
func dew(pa float64) float64 {
	x := math.Log(pa / 611.2)
	return 243.12 * x / (17.62 - x)
}

// heatIntoSoil is what 1800 m³/h of air leave in the soil with an effectiveness of 0.6, W, by the
// ideal gas law, 1006 J/(kg K) and 2.5 MJ/kg less 2.36 kJ/(kg K) for condensing. humidity is a
// share, 0 where it is not known.
func heatIntoSoil(air, humidity, soil float64) float64 {
	const flowM3s, effectiveness, pressurePa = 0.5, 0.6, 101205
	pw := humidity * vapourPa(air)
	kgS := (pressurePa - pw) * flowM3s / (287.05 * (air + 273.15))
	ratio := func(pa float64) float64 { return 0.622 * pa / (pressurePa - pa) }
	out := air - effectiveness*(air-soil)
	w, wall := ratio(pw), ratio(vapourPa(soil))
	condensed := 0.0
	if w > wall {
		condensed = max(effectiveness*(w-wall), w-ratio(vapourPa(out)))
	}
	return kgS * ((1006+1860*(w-condensed))*(air-out) + condensed*(2.501e6-2361*out))
}

// worthShare is what a stored kWh is worth in the month of at, as a share of what it is worth at
// the first frost: from nothing on 15 September to all on 1 November and to nothing on 10 April,
// the mean of the month's days.
func worthShare(at time.Time) float64 {
	year, month, _ := at.Date()
	if month < time.August {
		year-- // the winter that began last year
	}
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	topping, first, end := day(year, time.September, 15), day(year, time.November, 1), day(year+1, time.April, 10)
	sum, days := 0.0, 0
	y := at.Year()
	for d := day(y, month, 1); d.Month() == month; d = d.AddDate(0, 0, 1) {
		days++
		switch {
		case d.After(topping) && d.Before(first):
			sum += d.Sub(topping).Hours() / first.Sub(topping).Hours()
		case !d.Before(first) && d.Before(end):
			sum += end.Sub(d).Hours() / end.Sub(first).Hours()
		}
	}
	return sum / float64(days)
}

// sun returns sunrise and sunset at 45.4° N, 11.9° E on the date of at, by Spencer's Fourier
// series of 1971 for declination and equation of time; good to about a minute.
func sun(at time.Time) (rise, set time.Time) {
	const lat, lon, rad = 45.4, 11.9, math.Pi / 180
	utc := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.UTC)
	g := 2 * math.Pi / 365 * (float64(utc.YearDay()-1) + 0.5)
	equationMin := 229.18 * (0.000075 + 0.001868*math.Cos(g) - 0.032077*math.Sin(g) -
		0.014615*math.Cos(2*g) - 0.040849*math.Sin(2*g))
	dec := 0.006918 - 0.399912*math.Cos(g) + 0.070257*math.Sin(g) - 0.006758*math.Cos(2*g) +
		0.000907*math.Sin(2*g) - 0.002697*math.Cos(3*g) + 0.00148*math.Sin(3*g)
	half := math.Acos(math.Cos(90.833*rad)/(math.Cos(lat*rad)*math.Cos(dec))-math.Tan(lat*rad)*math.Tan(dec)) / rad
	minutes := func(m float64) time.Time { return utc.Add(time.Duration(m * float64(time.Minute))) }
	return minutes(720 - 4*(lon+half) - equationMin), minutes(720 - 4*(lon-half) - equationMin)
}
