package main

import (
	"loambank/config"
	"loambank/controller/physics"
	"loambank/controller/trial"
	"loambank/controller/weather"
)

// climate is a house and a year of weather for it to live through.
type climate struct {
	s      *config.Settings
	h      *config.House
	year   *weather.Year
	laid   *trial.Year
	ground physics.GroundWave
}

// climateOf reads settings and weather; with one house its name may be left out.
func climateOf(w *world, settings, file, house string) (c climate, err error) {
	if c.s, err = load(w, settings); err != nil {
		return c, err
	}
	if c.h, err = houseOf(c.s, house); err != nil {
		return c, err
	}
	if c.year, err = readWeather(file); err != nil {
		return c, err
	}
	if c.laid, err = trial.Lay(c.year, c.s.Site.Zone); err != nil {
		return c, err
	}
	c.ground, err = trial.Ground(c.year)
	return c, err
}
