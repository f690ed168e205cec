module fringework

go 1.26.8
