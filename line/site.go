package line

import (
	"fmt"

	"obvert/physics/air"
	"obvert/physics/water"
	"obvert/quantity"
)

// What holds for the site where the document does not say. Each is recorded under Line.Assumed.
const (
	assumedAltitude         = 0.0     // m
	assumedWaterTemperature = 283.15  // K, 10 °C, mains in the ground of the temperate zone; common practice, no source
	standardGravity         = 9.80665 // m/s², 3rd General Conference on Weights and Measures, 1901
)

// readSite reads [site] and works out the water and the air there.
func (r *reader) readSite(root form) {
	f, given := root.sub("site", "site")
	if !given {
		r.deriveSite(Site{WaterTemperature: assumedWaterTemperature}, siteGiven{})
		return
	}
	var s Site
	var g siteGiven
	s.Altitude, g.altitude = f.quantity("altitude", quantity.Length, false, altitudeLimits)
	s.WaterTemperature, g.water = f.quantity("water_temperature", quantity.Temperature, false, waterLimits)
	s.AirTemperature, g.air = f.quantity("air_temperature", quantity.Temperature, false, airLimits)
	g.latitudeAt, g.latitude = f.quantity("latitude", quantity.Angle, false, latitudeLimits)
	s.Gravity, g.gravity = f.quantity("gravity", quantity.Acceleration, false, gravityLimits)
	s.AtmosphericPressure, g.atmosphere = f.quantity("atmospheric_pressure", quantity.AbsolutePressure, false, atmosphereLimits)
	if g.gravity && g.latitude {
		f.remark("latitude", "site.latitude-unused", "the latitude is not used", "gravity is given, as "+quantity.Format(s.Gravity, "m/s²", 4), "")
	}
	r.deriveSite(s, g)
}

// siteGiven tells which values of a site were given.
type siteGiven struct {
	altitude, water, air, latitude, gravity, atmosphere bool
	latitudeAt                                          float64 // rad
}

// deriveSite fills what follows from the rest: gravity, air pressure, and the water's density, viscosity and vapour
// pressure at its temperature and the pressure of the air.
func (r *reader) deriveSite(s Site, g siteGiven) {
	if !g.altitude {
		s.Altitude = assumedAltitude
		r.assume("site.altitude", "site", "The site lies at sea level.")
	}
	if !g.water {
		s.WaterTemperature = assumedWaterTemperature
		r.assume("site.water-temperature", "site", "The water has "+quantity.Format(s.WaterTemperature, "°C", 0)+" (common practice, no source).")
	}
	standard, err := air.Standard(s.Altitude)
	if err != nil {
		return // the altitude was refused
	}
	if !g.atmosphere {
		s.AtmosphericPressure = standard.Pressure
	}
	if !g.air {
		s.AirTemperature = standard.Temperature
		r.assume("site.air-temperature", "site", fmt.Sprintf("The air has %s, as ISO 2533 gives for the altitude.", quantity.Format(s.AirTemperature, "°C", 1)))
	}
	if !g.gravity {
		s.Gravity = standardGravity
		if g.latitude {
			if local, err := air.Gravity(g.latitudeAt, s.Altitude); err == nil {
				s.Gravity = local
			}
		} else {
			r.assume("site.gravity", "site", "Gravity is the standard value, "+quantity.Format(standardGravity, "m/s²", 5)+".")
		}
	}
	if p, err := water.At(s.WaterTemperature, s.AtmosphericPressure); err == nil {
		s.Density, s.Viscosity, s.VapourPressure = p.Density, p.KinematicViscosity, p.VapourPressure
	}
	r.line.Site = s
}
