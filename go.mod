module obvert

go 1.26
