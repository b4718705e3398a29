//! The service, tested from outside through its port: what it keeps, what it shows to whom, and what it refuses.

mod api;
mod assumed;
mod crash;
mod crowd;
mod damage;
mod desk;
mod forms;
mod greedy;
mod hostile;
mod matters;
mod operation;
mod people;
mod planning;
mod service;
mod sheets;
mod spoken;
mod step;
mod things;
mod wish;
mod wrong;
