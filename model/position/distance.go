package position

import "math"

// A Position says where a spectrum lies against a class model.
type Position struct {
	T2       float64 `json:"t2"`
	Q        float64 `json:"q"`
	Distance float64 `json:"distance"`
}

// Distance returns T² and the Q residual as one figure, 1 on the limit:
//
//	max(√(T²/T²limit), √(Q/Qlimit))
//
// A distance of at most 1 means that both are within their limits; twice the departure from the usual in the
// direction that decides is twice the distance. A limit of 0, which a model that leaves nothing over has for Q,
// is passed by anything above 0; an infinite limit by nothing.
func Distance(t2, t2Limit, q, qLimit float64) float64 {
	return max(share(t2, t2Limit), share(q, qLimit))
}

func share(x, limit float64) float64 {
	if x <= 0 {
		return 0
	}
	return math.Sqrt(x / limit)
}
