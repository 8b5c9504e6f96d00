package text

import v1 "drillwright/proto/drillwright/v1"

// Screen writes what screening found.
func (p *Page) Screen(r *v1.ScreenResponse) {
	p.heading("Screening", r.GetHeader())
	p.screening(r.GetHeader())
	p.closing(r.GetHeader())
}
