package pad

// ReliefSpacing opens reliefSpacing to the tests.
var ReliefSpacing = reliefSpacing

// NearestKey opens nearestKey to the tests.
func NearestKey(key string) string { return nearestKey(key, fields()) }

// Joins opens the choice of joins to the tests.
func Joins(total, limit, step float64, cost func(float64) float64) ([]float64, bool) {
	return parting{total, func(int, int) float64 { return limit }, cost, step}.joins()
}
