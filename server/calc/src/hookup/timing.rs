
use super::*;
use super::lines::*;
use crate::units::*;
use std::time::Instant;
fn hk(c:&str,t:Option<&str>,bar:f64)->Hookup{Hookup{coupling:Some(c.into()),tool_coupling:t.map(|t|t.into()),fluid:Some(Fluid::MineralOil),pressure:Some(Quantity::new(bar,Unit::Bar)),..Hookup::default()}}
fn part(kind:Kind,h:&Hookup,l:f64)->Part<'_>{Part{kind,hookup:h,length_mm:l,fixed_to:None}}
#[test]
fn typical(){
 let mut pump=hk("Flat-face single",None,720.0); pump.circuits=Some(2);
 let hand=hk("Twin",None,720.0);
 let h1=hk("flat-face single",None,720.0); let h2=hk("Twin",Some("flat-face single"),720.0);
 let t=hk("flat-face single",None,700.0); let mut t2=t.clone(); t2.allowable_pressure=Some(Quantity::new(720.0,Unit::Bar));
 let mut bt=Hookup::default(); bt.battery=Some("28V family".into());
 let parts=[part(Kind::PowerUnit,&pump,0.),part(Kind::HandPump,&hand,0.),part(Kind::Hose,&h1,10000.),part(Kind::Hose,&h1,10000.),part(Kind::Hose,&h1,15000.),part(Kind::Hose,&h1,5000.),part(Kind::Hose,&h2,5000.),part(Kind::Hose,&h1,5000.),
  part(Kind::Cutter,&t2,0.),part(Kind::Spreader,&t2,0.),part(Kind::Ram,&t2,0.),part(Kind::CombinationTool,&bt,0.),part(Kind::Cutter,&bt,0.),part(Kind::Battery,&bt,0.),part(Kind::Battery,&bt,0.)];
 let mates=Mates::default(); let rules=LineRules{tolerance:0.01,adapters:true,mates:&mates};
 let n=20000;
 let s=Instant::now(); for _ in 0..n { std::hint::black_box(Lines::new(std::hint::black_box(&parts),&rules)); } eprintln!("new {:?}",s.elapsed()/n);
 let l=Lines::new(&parts,&rules);
 let s=Instant::now(); for _ in 0..n { std::hint::black_box(l.reach(std::hint::black_box(u128::MAX))); } eprintln!("reach {:?}",s.elapsed()/n);
 for least in [0.0,10000.0] {
 let ways:Vec<Way>=(8..13).map(|tool|Way{tool,outlets:u32::MAX,least_mm:least,pack:true,own_pack:false}).collect();
 eprintln!("{:?}",l.at_once(u128::MAX,&ways));
 let s=Instant::now(); for _ in 0..n { std::hint::black_box(l.at_once(std::hint::black_box(u128::MAX),&ways)); } eprintln!("at_once {least} {:?}",s.elapsed()/n);
 }
 let s=Instant::now(); for _ in 0..n { std::hint::black_box(l.line(8,0,u128::MAX,10000.0,0)); } eprintln!("line {:?}",s.elapsed()/n);
}
struct R(u64); impl R{fn n(&mut self,k:usize)->usize{self.0^=self.0<<13;self.0^=self.0>>7;self.0^=self.0<<17;(self.0>>20) as usize%k}}
#[test]
fn middling(){
 let mut r=R(88172645463325252);
 for (nt,nh,na,ns,np,fam) in [(12,12,4,4,3,2),(12,12,4,4,3,3),(8,8,2,3,2,2),(12,12,0,3,0,2),(40,40,6,8,10,2),(40,60,10,10,8,4)] {
 let (mut inexact,mut worst,mut total,mut worst_reach)=(0,std::time::Duration::ZERO,std::time::Duration::ZERO,std::time::Duration::ZERO);
 let n=300;
 for _ in 0..n {
  let f=["Mono","Twin","Core","Old"]; let p=[720.0,720.0,720.0,350.0];
  let mut hs:Vec<(Kind,Hookup,f64)>=Vec::new();
  let lens=[5000.,10000.,7000.,15000.,4800.,9100.,5200.];
  for _ in 0..ns { let mut h=hk(f[r.n(fam)],None,p[r.n(4)]); h.circuits=Some(1+r.n(4) as u32); if r.n(2)==0 {h.outlets=vec![Outlet{coupling:f[r.n(fam)].into(),pressure:Quantity::new(p[r.n(4)],Unit::Bar),circuits:Some(1+r.n(2) as u32)}];} hs.push((Kind::PowerUnit,h,f64::NAN)); }
  for _ in 0..nh { let a=r.n(fam); let b=if r.n(4)==0 {r.n(fam)} else {a}; hs.push((Kind::Hose,hk(f[a],Some(f[b]),p[r.n(4)]),lens[r.n(7)])); }
  for _ in 0..na { hs.push((Kind::Adapter,hk(f[r.n(fam)],Some(f[r.n(fam)]),p[r.n(4)]),f64::NAN)); }
  for _ in 0..nt { let mut h=hk(f[r.n(fam)],None,p[r.n(4)]); if r.n(4)==0 {h.battery=Some("28".into());} if r.n(2)==0 {h.allowable_pressure=Some(Quantity::new(720.0,Unit::Bar));} hs.push((Kind::Cutter,h,f64::NAN)); }
  for _ in 0..np { hs.push((Kind::Battery,Hookup{battery:Some("28".into()),..Hookup::default()},f64::NAN)); }
  let parts:Vec<Part>=hs.iter().map(|(k,h,l)|part(*k,h,*l)).collect();
  let mates=Mates::default(); let rules=LineRules{tolerance:0.01,adapters:true,mates:&mates};
  let l=Lines::new(&parts,&rules);
  let least=[0.0,10000.0,12000.0][r.n(3)];
  let ways:Vec<Way>=(0..parts.len()).map(|tool|Way{tool,outlets:l.piece(tool).rated,least_mm:if r.n(5)==0 {0.0} else {least},pack:true,own_pack:false}).collect();
  let s=Instant::now(); let a=l.at_once(u128::MAX,&ways); let d=s.elapsed(); worst=worst.max(d); total+=d; if !a.exact {inexact+=1;}
  let s=Instant::now(); l.reach(u128::MAX); worst_reach=worst_reach.max(s.elapsed());
 }
 eprintln!("{nt} tools {nh} hoses {na} adapters {ns} sources fam {fam}: inexact {inexact}/{n} worst {worst:?} mean {:?} worst reach {worst_reach:?}",total/n);
 }
}
