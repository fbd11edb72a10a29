module obvert

go 1.26.0

require github.com/pelletier/go-toml/v2 v2.4.3

require (
	golang.org/x/text v0.44.0 // indirect
	gonum.org/v1/gonum v0.17.0 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)
