// Package geodesy makes distances along a pipe of positions on the earth: of latitude, longitude and height, and of the
// coordinates of a map grid.
//
// What a long section calls chainage is the length that a tape would measure held level at the site: the horizontal distance on
// the ground. It is not the distance on the ellipsoid, which lies hundreds of metres deeper at altitude (0.16 m in each km shorter for each
// 1,000 m of height), not the distance on a map grid, which differs from it by up to 1 m in each km, and above all not the distance in
// Web Mercator metres, which at 50° are 0.64 m each.
//
// Angles are in degrees, lengths in metres. Heights are above the ellipsoid where the source says so; a height above the sea
// in its place changes a length by 1.6 × 10⁻⁷ for each metre between the two, 16 mm in a km for the 100 m that the two differ
// by at most.
// Every function is pure; none gives NaN for finite positions.
package geodesy
