package air

// Outside is the weather at one instant as a body of water in the open meets
// it. Radiation is on the horizontal.
type Outside struct {
	CosZenith   float64 // cosine of the sun's zenith angle, 0 when it is down [1]
	AzimuthDeg  float64 // the sun's azimuth from north, clockwise [°]
	BeamWM2     float64 // direct shortwave on the horizontal [W/m²]
	DiffuseWM2  float64 // diffuse shortwave on the horizontal [W/m²]
	BeamPAR     float64 // direct photons 400–700 nm on the horizontal [µmol/m²/s]
	DiffusePAR  float64 // diffuse photons 400–700 nm on the horizontal [µmol/m²/s]
	LongwaveWM2 float64 // longwave from the sky, clouds included [W/m²]
	AirC        float64 // air temperature [°C]
	VapourKPa   float64 // vapour pressure of the air [kPa]
	WindMS      float64 // wind at 2 m [m/s]
	PressureKPa float64 // station pressure [kPa]
	RainMMPerH  float64 // rain [mm/h]
	GroundDeepC float64 // temperature of the ground out of reach of the day [°C]
}
