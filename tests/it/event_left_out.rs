//! Says in the list of tests what a run without a PostgreSQL leaves out.

#[test]
#[ignore = "left out without a PostgreSQL, run by .ci/event: six lanes and a killed server, time to the other lanes, \
            rights of the roles, one writer id on two machines, a spoilt network, a full server disk, editions of the \
            tables, passwords and TLS"]
fn lanes_on_a_real_postgresql() {}
