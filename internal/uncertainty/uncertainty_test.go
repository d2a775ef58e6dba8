package uncertainty

import (
	"math"
	"math/rand/v2"
	"testing"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %.6g, want %.6g ± %.2g", what, got, want, within)
	}
}

// JCGM 100:2008, 4.4.3 and table 1: twenty temperatures have the mean 100.14 °C, the
// standard deviation 1.49 °C, and the mean's standard uncertainty 0.33 °C.
func TestTwentyTemperatures(t *testing.T) {
	var readings [][]float64
	for _, c := range []float64{96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
		100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72} {
		readings = append(readings, []float64{c})
	}
	means, covariance := Means(readings)
	near(t, "mean", means[0], 100.145, 0.0005)
	near(t, "u", math.Sqrt(covariance[0]), 0.33, 0.005)
	near(t, "s", math.Sqrt(20*covariance[0]), 1.49, 0.005)
}

// JCGM 100:2008, 4.4.5: anywhere from 96 to 104 °C is 2.3 °C.
func TestRectangular(t *testing.T) { near(t, "u", Rectangular(4), 2.3, 0.05) }

// gauge is JCGM 100:2008, annex H.1: the length of an end gauge in nm, from the
// standard's length, the difference, the standard's expansion, the temperature, and
// the differences of expansion and temperature.
func gauge(x []float64) float64 {
	standard, difference, expansion, temperature, byExpansion, byTemperature := x[0], x[1], x[2], x[3], x[4], x[5]
	return standard + difference - standard*(byExpansion*temperature+expansion*byTemperature)
}

// The inputs of H.1: u is 25 nm; 5.8, 3.9 and 6.7 nm; rectangles of ±2e-6, ±1e-6 and
// ±0.05; 0.2 °C and a swing of ±0.5 °C (arcsine, u = a/√2).
func gaugeInputs() (at, u []float64) {
	difference := math.Sqrt(5.8*5.8 + 3.9*3.9 + 6.7*6.7)
	return []float64{50000623, 215, 11.5e-6, -0.1, 0, 0},
		[]float64{25, difference, Rectangular(2e-6), math.Hypot(0.2, 0.5/math.Sqrt2), Rectangular(1e-6), Rectangular(0.05)}
}

// gradient returns central differences with steps of u.
func gradient(model func([]float64) float64, at, u []float64) []float64 {
	g := make([]float64, len(at))
	for i := range at {
		up, down := append([]float64(nil), at...), append([]float64(nil), at...)
		up[i] += u[i]
		down[i] -= u[i]
		g[i] = (model(up) - model(down)) / (2 * u[i])
	}
	return g
}

// H.1.4 and H.1.7: to first order the gauge is uncertain by 32 nm, and by 34 nm with
// the second order, which the first cannot see: a simulation must find 34.
func TestEndGauge(t *testing.T) {
	at, u := gaugeInputs()
	n := len(at)
	diagonal := make([]float64, n*n)
	for i := range u {
		diagonal[i*n+i] = u[i] * u[i]
	}
	g := gradient(gauge, at, u)
	near(t, "l", gauge(at), 50000838, 0.5)
	near(t, "first order u", math.Sqrt(Covariance(g, g, diagonal)), 31.66, 0.05)
	for i, want := range map[int]float64{0: 25, 1: 9.7, 4: 2.9, 5: 16.6} {
		near(t, "contribution", math.Abs(g[i])*u[i], want, 0.06)
	}
	draw := func(rng *rand.Rand, x []float64) {
		even := func() float64 { return 2*rng.Float64() - 1 }
		x[0] = at[0] + u[0]*rng.NormFloat64()
		x[1] = at[1] + u[1]*rng.NormFloat64()
		x[2] = at[2] + 2e-6*even()
		x[3] = at[3] + 0.2*rng.NormFloat64() + 0.5*math.Sin(2*math.Pi*rng.Float64())
		x[4] = 1e-6 * even()
		x[5] = 0.05 * even()
	}
	near(t, "simulated u", MonteCarlo(gauge, draw, n, 300000, 1).U, 33.8, 0.3)
}

// JCGM 100:2008, annex H.2: resistance, reactance and impedance from five
// simultaneous readings of voltage (V), current (mA) and phase (rad), which are
// correlated, as are the results (tables H.2 to H.4).
func TestCorrelatedImpedance(t *testing.T) {
	means, covariance := Means([][]float64{
		{5.007, 19.663, 1.0456}, {4.994, 19.639, 1.0438}, {5.005, 19.640, 1.0468}, {4.990, 19.685, 1.0428}, {4.999, 19.678, 1.0433}})
	u := []float64{math.Sqrt(covariance[0]), math.Sqrt(covariance[4]), math.Sqrt(covariance[8])}
	near(t, "r(V, I)", covariance[1]/(u[0]*u[1]), -0.36, 0.005)
	near(t, "r(V, phase)", covariance[2]/(u[0]*u[2]), 0.86, 0.005)
	near(t, "r(I, phase)", covariance[5]/(u[1]*u[2]), -0.65, 0.005)
	models := []func(x []float64) float64{
		func(x []float64) float64 { return x[0] / x[1] * 1000 * math.Cos(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] * 1000 * math.Sin(x[2]) },
		func(x []float64) float64 { return x[0] / x[1] * 1000 },
	}
	var g [][]float64
	for k, want := range []struct{ value, u float64 }{{127.732, 0.071}, {219.847, 0.295}, {254.260, 0.236}} {
		g = append(g, gradient(models[k], means, u))
		near(t, "value", models[k](means), want.value, 0.0006)
		near(t, "u", math.Sqrt(Covariance(g[k], g[k], covariance)), want.u, 0.0006)
	}
	for _, r := range []struct {
		a, b int
		want float64
	}{{0, 1, -0.588}, {0, 2, -0.485}, {1, 2, 0.993}} {
		a, b := g[r.a], g[r.b]
		got := Covariance(a, b, covariance) / math.Sqrt(Covariance(a, a, covariance)*Covariance(b, b, covariance))
		near(t, "correlation of results", got, r.want, 0.0006)
	}
}

// JCGM 101:2008, 9.2.2 to 9.2.4: the sum of four inputs. Normal ones of 1 give 2.00
// and ±3.92; rectangular ones of 1 give 2.00 and ±3.88 (exactly 2√3 (2 - 0.6^¼));
// with one rectangular of 10 it is 10.1 and ±17.0, where the normal law would have
// ±19.9.
func TestSumsOfFour(t *testing.T) {
	sum := func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] }
	flat := func(sigma ...float64) func(*rand.Rand, []float64) {
		return func(rng *rand.Rand, x []float64) {
			for i := range x {
				x[i] = sigma[i] * math.Sqrt(3) * (2*rng.Float64() - 1)
			}
		}
	}
	for _, test := range []struct {
		name           string
		draw           func(*rand.Rand, []float64)
		u, half, loose float64
	}{
		{"normal", Normals, 2, 3.92, 0.03},
		{"rectangular", flat(1, 1, 1, 1), 2, 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25)), 0.03},
		{"one of ten", flat(1, 1, 1, 10), math.Sqrt(103), 17.0, 0.06},
	} {
		s := MonteCarlo(sum, test.draw, 4, 300000, 2)
		low, high := s.Interval(0.95)
		near(t, test.name+": u", s.U, test.u, 0.005*test.u)
		near(t, test.name+": upper end", high, test.half, test.loose)
		near(t, test.name+": lower end", low, -test.half, test.loose)
	}
}

// ISO 13528:2022, 9.7: results 3 apart of expanded uncertainties 3 and 4 agree, 6
// apart they do not.
func TestNormalisedError(t *testing.T) {
	near(t, "E_n", NormalisedError(3, 3, 4), 0.6, 1e-12)
	near(t, "E_n", NormalisedError(-6, 3, 4), -1.2, 1e-12)
}
