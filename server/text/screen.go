package text

import pb "drillwright/proto/drillwright/v1"

// Screen writes what screening found.
func (p *Page) Screen(r *pb.ScreenResponse) {
	p.heading("Screening", r.GetHeader())
	p.screening(r.GetHeader())
	p.closing(r.GetHeader())
}
