package main

// Tuned are the programmes that the constants of package advice were set on.
var Tuned = []Programme{
	{Name: "circle narrows: 4 and 6 in a row inside 2 m, 6 inside 1.5 m, 8 inside 1.5 m, 8 inside 1.2 m", Week: hour(), PerMinute: 1.3, Weeks: 20,
		Ladder: ladder(false, inRow(4, 2), inRow(6, 2), inRow(6, 1.5), inRow(8, 1.5), inRow(8, 1.2))},
	{Name: "one circle, tests alone count: 3, 5, 7 and 10 in a row inside 1.6 m", Week: hour(), PerMinute: 1.3, Weeks: 20,
		Ladder: ladder(true, inRow(3, 1.6), inRow(5, 1.6), inRow(7, 1.6), inRow(10, 1.6))},
}

// TunedSecond are the programmes beside population Second.
var TunedSecond = []Programme{
	{Name: "circle narrows: 3 in a row inside 2.4 m, 5 inside 2.4 m, 5 inside 1.8 m, 7 inside 1.4 m", Week: hour(), PerMinute: 1.2, Weeks: 20,
		Ladder: ladder(false, inRow(3, 2.4), inRow(5, 2.4), inRow(5, 1.8), inRow(7, 1.4))},
	{Name: "one circle: 4, 6, 8 and 11 in a row inside 1.5 m", Week: hour(), PerMinute: 1.2, Weeks: 20,
		Ladder: ladder(false, inRow(4, 1.5), inRow(6, 1.5), inRow(8, 1.5), inRow(11, 1.5))},
	{Name: "tests alone count: 3, 5 and 8 in a row inside 1.8 m, 8 inside 1.4 m", Week: hour(), PerMinute: 1.2, Weeks: 20,
		Ladder: ladder(true, inRow(3, 1.8), inRow(5, 1.8), inRow(8, 1.8), inRow(8, 1.4))},
}

// Published are the programmes whose results are published.
var Published = []Programme{
	{Name: "circle narrows: 4 in a row inside 2.1 m, 6 inside 2.1 m, 6 inside 1.6 m, 7 inside 1.3 m", Week: hour(), PerMinute: 1.1, Weeks: 20,
		Ladder: ladder(false, inRow(4, 2.1), inRow(6, 2.1), inRow(6, 1.6), inRow(7, 1.3))},
	{Name: "one circle: 3, 5, 8 and 12 in a row inside 1.7 m", Week: hour(), PerMinute: 1.1, Weeks: 20,
		Ladder: ladder(false, inRow(3, 1.7), inRow(5, 1.7), inRow(8, 1.7), inRow(12, 1.7))},
	{Name: "tests alone count: 4, 6 and 8 in a row inside 2 m, 6 inside 1.5 m", Week: hour(), PerMinute: 1.1, Weeks: 20,
		Ladder: ladder(true, inRow(4, 2), inRow(6, 2), inRow(8, 2), inRow(6, 1.5))},
}
