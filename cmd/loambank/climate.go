package main

import (
	"fmt"
	"os"

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

	airflow []airflow // that was learned and counts, of stores that it was learned of
}

// climateOf reads settings and weather; with one house its name may be left out.
func climateOf(w *world, settings, file, house string) (c climate, err error) {
	s, err := load(w, settings)
	if err != nil {
		return c, err
	}
	h, err := houseOf(s, house)
	if err != nil {
		return c, err
	}
	return climateIn(s, h, file)
}

// climateIn reads weather for a house.
func climateIn(s *config.Settings, h *config.House, file string) (c climate, err error) {
	c.s, c.h = s, h
	if c.year, err = readWeather(file); err != nil {
		return c, err
	}
	if c.laid, err = trial.Lay(c.year, c.s.Site.Zone); err != nil {
		return c, err
	}
	c.ground, err = trial.Ground(c.year)
	return c, err
}

// houseOf is the house of that name; with one house it needs none.
func houseOf(s *config.Settings, name string) (*config.House, error) {
	names := ""
	for i := range s.Houses {
		h := &s.Houses[i]
		if name == h.House.Name || name == "" && len(s.Houses) == 1 {
			return h, nil
		}
		names += " " + h.House.Name
	}
	if name == "" {
		return nil, usage{fmt.Errorf("the settings have several houses; write --house with one of:%s", names)}
	}
	return nil, usage{fmt.Errorf("there is no house %q; there is:%s", name, names)}
}

func readWeather(path string) (*weather.Year, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("weather: %w", err)
	}
	defer f.Close()
	return weather.Read(path, f)
}
